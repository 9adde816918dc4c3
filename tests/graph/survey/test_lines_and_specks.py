"""Scratches and dirt are told from what is before the camera, by the lines and specks of single frames."""

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from lamphouse.graph.media.statistics.row import ROW
from lamphouse.graph.media.statistics.statistics import Statistics
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Reel, ScanRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.survey.faults import dirt, scratches
from lamphouse.graph.survey.look import Change, Look, Shot
from lamphouse.nodes.catalogue import Catalogue


def lined(*lines, frames=120, moves=0.0, bands=0xFFF):
    """Rows of frames with lines: the frames in which each is seen, its columns there, how far it stands out.

    Behind them light and shade move so many cells a frame to the left; `bands` says through which of the
    picture's height the lines go.
    """
    rows = np.zeros(frames, ROW)
    across = np.linspace(0, 6, 32) + moves * np.arange(frames)[:, None] * 6 / 31
    shade = np.sin(across)[:, None] * np.sin(np.linspace(0, 5, 24))[:, None]
    rows["small"] = (120 + 80 * shade)[:, None]
    for at, (seen, columns, contrast) in enumerate(lines):
        rows["lines"]["column"][list(seen), at] = columns
        rows["lines"]["contrast"][list(seen), at] = contrast
        rows["lines"]["bands"][list(seen), at] = bands
    return rows


def test_a_scratch_that_is_lost_on_some_pictures_is_one_scratch():
    """As one that wanders is, by as far as it wandered."""
    seen = [*range(20), *range(50, 70), *range(100, 120)]
    wanders = 0.3 + 0.01 * np.sin(np.array(seen) / 15)
    (found,) = scratches.scratches(lined((seen, wanders, -0.05)))
    assert (len(found.frames), found.length) == (60, 120)


def test_scratches_beside_one_another_or_of_another_tone_are_as_many():
    first, then = range(40), range(60, 100)
    beside = lined((range(90), 0.3, 0.05), (range(90), 0.31, 0.05))
    assert len(scratches.scratches(beside)) == 2
    assert len(scratches.scratches(lined((first, 0.3, 0.05), (then, 0.3, -0.05)))) == 2
    assert len(scratches.scratches(lined((first, 0.3, 0.05), (then, 0.32, 0.05)))) == 2


def look_at(rows, *changes):
    """A look at rows of frames with changes of shot."""
    scan = ScanRef(path="scan", frames=len(rows), width=384, height=288)
    opened = OpenedReel(Path("a.reel"), Reel(scan=scan, chain=chain_preset("plain").chain), Catalogue())
    shots = tuple(Shot(*pair) for pair in pairwise([0, *(change.frame for change in changes), len(rows)]))
    return Look(opened, Statistics(rows, None), changes, shots, None)


@pytest.mark.parametrize(("moves", "is_sure"), [(0.0, False), (0.1, True)])
def test_a_line_in_one_shot_is_sure_to_be_a_scratch_where_the_picture_moves_under_it(moves, is_sure):
    (found,) = scratches.proposals(look_at(lined((range(60), 0.3, 0.05), frames=60, moves=moves)))
    assert found.is_sure == is_sure
    assert ("upright before the camera" in found.why) != is_sure


def test_a_line_over_a_cut_is_sure_and_one_over_a_dissolve_alone_is_not():
    rows = lined((range(20, 60), 0.3, 0.05))
    (found,) = scratches.proposals(look_at(rows, Change(45, "cut", 1.0)))
    assert found.is_sure
    assert "through 2 shots" in found.why
    (found,) = scratches.proposals(look_at(rows, Change(45, "dissolve", 1.0, 25)))
    assert not found.is_sure
    assert "shots" not in found.why


def test_a_line_over_a_part_of_the_height_is_a_scratch_only_where_it_crosses_a_cut():
    """As trunks of trees do, which one after the other stand at a column."""
    rows = lined((range(20, 60), 0.3, 0.05), bands=0x3FF)
    assert len(list(scratches.proposals(look_at(rows, Change(45, "cut", 1.0))))) == 1
    assert not list(scratches.proposals(look_at(rows)))
    assert not list(scratches.proposals(look_at(rows, Change(45, "dissolve", 1.0, 25))))


def specked(moving, *, dust, frames=60):
    """Rows of frames with as much dust everywhere, and in the lowest quarter with so many leaves a frame.

    Two of three leaves are seen again beside their place a frame later, the third is not.
    """
    dice = np.random.default_rng(5)
    rows = lined(frames=frames)
    for frame in range(frames):
        places = [(*dice.uniform(0, 0.98, 2), 0.01, 0.01, dice.choice((-0.4, 0.4))) for _ in range(dust)]
        places += [(0.06 + 0.22 * at, 0.9, 0.01, 0.01, 0.2) for at in range(2 * moving // 3)]
        places += [(dice.uniform(0, 0.98), 0.8, 0.01, 0.01, 0.7) for _ in range(moving - 2 * moving // 3)]
        rows["specks"][frame] = (len(places), 0)
        rows["speck_places"][frame][: len(places)] = places
    return rows


@pytest.mark.parametrize(("dust", "moving"), [(1, 0), (1, 6), (5, 0), (5, 6)])
def test_leaves_that_move_are_not_counted_as_dirt(dust, moving):
    found = list(dirt.proposals(look_at(specked(moving, dust=dust))))
    assert [one.amount for one in found] == ([pytest.approx(dust, rel=0.15)] if dust > 3 else [])


def test_dirt_in_one_half_of_the_picture_is_counted_there():
    """Nothing moves there: it lies in other places in each frame."""
    rows = specked(0, dust=5)
    rows["speck_places"][..., 1] *= 0.5
    (found,) = dirt.proposals(look_at(rows))
    assert found.amount == pytest.approx(5, rel=0.15)


def test_a_shot_that_dissolves_into_a_dirty_one_is_not_dirty_itself():
    rows = np.concatenate([specked(0, dust=1, frames=40), specked(0, dust=9, frames=80)])
    (found,) = dirt.proposals(look_at(rows, Change(70, "dissolve", 1.0, 30)))
    assert (found.frame, found.frames) == (70, 50)
