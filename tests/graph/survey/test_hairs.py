"""A hair in the gate is found by what changes under it, and what stands before the camera is none.

Photographs of scikit-image, with hairs and the rest drawn over them: all of that is invented.
"""

from functools import cache
from pathlib import Path

import numpy as np
import pytest
from scipy import ndimage
from skimage import data

from lamphouse.graph.media.statistics.statistics import measured
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Reel, ScanRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.survey.faults.hairs.proposed import proposals
from lamphouse.graph.survey.look import Look, Shot
from lamphouse.nodes.catalogue import Catalogue

HIGH, WIDE = 144, 192
SHOT = 24
PHOTOGRAPHS = ("astronaut", "chelsea", "coffee", "camera", "rocket")


@cache
def photograph(name):
    """A photograph, (144, 192), from 0.1 to 0.9."""
    picture = np.asarray(getattr(data, name)(), np.float32) / 255
    picture = picture if picture.ndim == 2 else picture[..., 1]
    picture = ndimage.zoom(picture, (HIGH / picture.shape[0], WIDE / picture.shape[1]), order=1)
    return 0.1 + 0.8 * picture


def shots(*names, frames=SHOT):
    """Shots of cameras that rest, of so many frames each, with grain."""
    dice = np.random.default_rng(1)
    clean = [photograph(name) for name in names for _ in range(frames)]
    return [(picture + dice.normal(0, 0.01, picture.shape)).astype(np.float32) for picture in clean]


def with_line(film, points, level, first=0, stop=None):
    """A film with a line of a pixel through points (row, column), its end unsteady by half a pixel."""
    along = np.linspace(0, 1, 400)
    rows, columns = (
        np.interp(along, np.linspace(0, 1, len(points)), each) for each in np.array(points, float).T
    )
    found = [frame.copy() for frame in film]
    for number, frame in enumerate(found[first:stop]):
        down = np.clip(rows + 0.5 * np.sin(number) * along, 0, HIGH - 1)
        frame[down.astype(int), columns.astype(int)] = level
    return found


HAIR = [(40, 191), (44, 178), (52, 168), (62, 163)]  # in from the right, bent downward


def found_in(film):
    """What is proposed for a film whose shots are all of the same length."""
    reel = Reel(
        scan=ScanRef(path="scan", frames=len(film), width=WIDE, height=HIGH),
        chain=chain_preset("plain").chain,
    )
    opened = OpenedReel(Path("a.reel"), reel, Catalogue())
    cuts = tuple(Shot(first, first + SHOT) for first in range(0, len(film), SHOT))
    statistics = measured([np.stack([frame] * 3) for frame in film], len(film))
    return list(proposals(Look(opened, statistics, (), cuts, None)))


@pytest.mark.parametrize(("level", "tone"), [(0.03, "dark"), (0.97, "bright")])
def test_a_hair_that_stands_through_changes_of_shot_is_one_mark_from_where_it_comes_to_where_it_goes(
    level, tone
):
    film = with_line(shots(*PHOTOGRAPHS), HAIR, level, first=SHOT // 2, stop=4 * SHOT)
    (hair,) = found_in(film)
    left, top, width, height = hair.place
    assert hair.what == "hair in the gate"
    assert (left, top) == pytest.approx((163 / WIDE, 40 / HIGH), abs=0.04)
    assert (left + width, top + height) == pytest.approx((1, 62 / HIGH), abs=0.04)
    assert hair.frame == pytest.approx(SHOT // 2, abs=12)
    assert hair.frame + hair.frames == pytest.approx(4 * SHOT, abs=12)
    assert 0 < hair.amount < 100 * width * height
    assert f"thin and {tone} stands still in from the right" in hair.why


def test_a_hair_is_told_in_one_shot_while_the_camera_turns():
    picture = np.concatenate([photograph(name) for name in PHOTOGRAPHS], axis=1)
    film = [picture[:, 6 * at : 6 * at + WIDE] for at in range(120)]
    (hair,) = found_in(with_line(film, HAIR, 0.03))
    assert hair.frames > 100


@pytest.mark.parametrize(
    "points",
    [
        pytest.param([(0, 90), (143, 90)], id="a scratch along the film"),
        pytest.param([(138, 0), (138, 191)], id="a frame line"),
        pytest.param([(0, 186), (138, 186), (138, 0)], id="two edges of a frame"),
    ],
)
def test_what_runs_straight_along_or_across_the_film_is_no_hair(points):
    assert not found_in(with_line(shots(*PHOTOGRAPHS), points, 0.03))


def test_a_gate_with_round_corners_a_vignette_and_bars_is_no_hair():
    down, across = np.ogrid[-1 : 1 : HIGH * 1j, -1 : 1 : WIDE * 1j]
    lens = 1 - 0.4 * (down**2 + across**2)
    gate = (np.hypot(np.maximum(abs(down) - 0.8, 0), np.maximum(abs(across) - 0.85, 0)) < 0.1) * lens
    assert not found_in([frame * gate for frame in shots(*PHOTOGRAPHS)])


def test_what_a_camera_that_rests_has_before_it_is_no_hair_however_its_light_moves():
    """A branch before one picture, which comes back after others, at dusk."""
    there, other = shots("coffee"), shots("astronaut", "camera")
    branch = with_line(there, HAIR, 0.03)
    film = [*branch, *other, *(frame * np.float32(0.6) for frame in branch), *other, *branch]
    assert not found_in(film)


def test_a_film_too_short_to_tell_has_no_hair():
    assert not found_in(with_line(shots("coffee"), HAIR, 0.03))
