"""Points of a curve that are moved, and of an easing, which must rise between ends that stay."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lamphouse.graph.cues.easing import check_ease, eased
from lamphouse.viewer.panels.ease import BEGINS
from lamphouse.viewer.panels.points import Rule, moved

EASE = Rule(0.0, 1.0, rises=True)
CURVE = Rule(-1.0, 2.0)
DRAWN = [(0.0, 0.0), (0.25, 0.2), (0.75, 0.8), (1.0, 1.0)]


@pytest.mark.parametrize("ease", BEGINS)
def test_what_is_drawn_begins_near_the_easing_that_it_takes_the_place_of(ease):
    drawn = check_ease(BEGINS[ease], "here")
    for n in range(41):
        assert eased(drawn, n, 40) == pytest.approx(eased(ease, n, 40), abs=0.03)


@given(
    st.lists(
        st.tuples(st.integers(0, 3), st.tuples(st.floats(-9, 9), st.floats(-9, 9))), min_size=1, max_size=9
    )
)
def test_an_easing_stays_one_however_its_points_are_dragged(drags):
    points = DRAWN
    for index, to in drags:
        points = moved(points, index, to, EASE)
    assert check_ease(points, "here") == tuple(points)


def test_the_ends_of_a_curve_move_up_and_down_only_and_its_points_between_their_neighbours():
    assert moved(DRAWN, 0, (0.5, 1.5), CURVE)[0] == (0.0, 1.5)
    assert moved(DRAWN, 1, (0.9, 5.0), CURVE)[1] == (pytest.approx(0.749), 2.0)
    assert moved(DRAWN, 0, (0.5, 1.5), EASE) == DRAWN
