"""How far a transition has come after each of its frames."""

import pytest

from lamphouse.graph.cues.easing import check_ease, eased
from lamphouse.nodes.errors import BadInput


@pytest.mark.parametrize(("done", "share"), [(0, 0.0), (1, 0.15625), (2, 0.5), (3, 0.84375), (4, 1.0)])
def test_soft_is_the_smoothstep(done, share):
    # 3 t^2 - 2 t^3 at 0, 0.25, 0.5, 0.75, 1; arithmetic.
    assert eased("soft", done, 4) == share


def test_even_is_the_share_of_the_frames():
    assert [eased("even", done, 8) for done in range(9)] == [
        0,
        0.125,
        0.25,
        0.375,
        0.5,
        0.625,
        0.75,
        0.875,
        1,
    ]


def test_a_drawn_easing_is_the_monotone_cubic_through_its_points():
    # By hand after Fritsch and Butland (1984): see the rows of the curves node.
    drawn = ((0.0, 0.0), (0.5, 0.6), (1.0, 1.0))
    expected = [0, 0.3275, 0.6, 0.8225, 1]
    assert [eased(drawn, done, 4) for done in range(5)] == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("ease", ["even", "soft", ((0.0, 0.0), (0.2, 0.7), (1.0, 1.0))])
def test_an_easing_rises_from_0_to_1_and_never_turns_back(ease):
    shares = [eased(ease, done, 50) for done in range(51)]
    assert (shares[0], shares[-1]) == (0, pytest.approx(1, abs=1e-12))
    assert shares == sorted(shares)


def test_a_drawn_easing_takes_the_form_of_points():
    assert check_ease([[0, 0], [1, 1]], "cue") == ((0.0, 0.0), (1.0, 1.0))
    assert [check_ease(name, "cue") for name in ("even", "soft")] == ["even", "soft"]


def test_a_drawn_easing_with_slopes_may_be_any_cubic_that_never_falls():
    # (2 t - 1)^3 brought to 0..1 has slopes of 3 at its ends and is level in the middle.
    steep = ((0.0, 0.0, 3.0), (1.0, 1.0, 3.0))
    assert check_ease(steep, "cue") == steep
    assert [eased(steep, done, 4) for done in range(5)] == pytest.approx([0, 0.4375, 0.5, 0.5625, 1])


def test_a_drawn_easing_may_stay_level():
    level = ((0.0, 0.0), (0.3, 0.5), (0.6, 0.5), (1.0, 1.0))
    assert check_ease(level, "cue") == level


@pytest.mark.parametrize(
    ("ease", "says"),
    [
        ("sofd", "no easing called sofd (did you mean soft?)"),
        ("x", "no easing called x (there is even, soft)"),
        (((0.0, 0.1), (1.0, 1.0)), "must begin at 0,0 and end at 1,1"),
        (((0.0, 0.0), (0.9, 1.0)), "must begin at 0,0 and end at 1,1"),
        (((0.0, 0.0), (0.5, 1.2), (1.0, 1.0)), "1.2 is outside its range 0 to 1"),
        (((0.0, 0.0), (0.3, 0.6), (0.6, 0.4), (1.0, 1.0)), "must rise from point to point"),
        (((0.0, 0.0, -0.1), (1.0, 1.0, 0.0)), "must rise from point to point"),
        (((0.0, 0.0, 6.0), (1.0, 1.0, 6.0)), "must rise from point to point"),  # it turns back between them
        (((0.0, 0.0), (0.5, 0.2), (0.5, 0.4), (1.0, 1.0)), "give points such as"),
        (((0.0, 0.0),), "give points such as"),
        (7, "give points such as"),
    ],
)
def test_what_is_no_easing_is_refused_in_one_sentence(ease, says):
    with pytest.raises(BadInput) as refused:
        check_ease(ease, "Cue at frame 10")
    message = str(refused.value)
    assert message.startswith("Cue at frame 10: ")
    assert says in message
    assert message.endswith(".")
    assert ". " not in message
