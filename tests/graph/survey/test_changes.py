"""Changes of shot on a reel of chance, whose truth is known, and on photographs that nobody made for this."""

import numpy as np
import pytest
from skimage import data

from lamphouse.graph.media.statistics.statistics import measured
from lamphouse.graph.survey.changes.evidence import changes, evidence


def found(film, margin=1.0):
    return changes(evidence(measured(film, len(film))), margin)


def photograph(picture, frames, pan=0, gains=1.0):
    """Frames (n, 3, 96, 128) of a photograph of scikit-image, with weave, grain, and a gain of each frame."""
    dice = np.random.default_rng(int(picture.sum()) + frames)
    image = np.moveaxis(picture, -1, 0).astype(np.float32) / 255
    places = 40 + np.arange(frames) * pan + dice.integers(0, 2, frames)
    film = np.stack([image[:, 60:156, x : x + 128] for x in places])
    gains = np.broadcast_to(np.asarray(gains, np.float32), frames)[:, None, None, None]
    return np.clip(film * gains + dice.normal(0, 0.02, film.shape), 0, 1).astype(np.float32)


@pytest.mark.slow
def test_a_reel_of_chance_has_its_cuts_and_dissolves(seeded_look):
    look, truth = seeded_look(1)
    by_kind = {"cut": [], "dissolve": []}
    for change in look.changes:
        by_kind.setdefault(change.what, []).append(change)
    true = [change for change in truth.changes if change.what == "cut"]
    assert len(by_kind["cut"]) == len(true)
    for seen, known in zip(by_kind["cut"], true, strict=True):
        assert abs(seen.frame - known.frame) <= 1
    mixed = [change for change in truth.changes if change.what == "dissolve"]
    assert len(by_kind["dissolve"]) == len(mixed)
    for seen, known in zip(by_kind["dissolve"], mixed, strict=True):
        assert abs(seen.frame - known.frame) <= 6  # and what lies between begins as near to the truth
        assert abs(seen.frame - seen.frames - known.frame + known.frames) <= 6


def test_a_cut_between_photographs_is_found_where_it_is():
    film = np.concatenate([photograph(data.astronaut(), 40), photograph(data.chelsea(), 40)])
    (change,) = found(film)
    assert (change.frame, change.what, change.frames) == (40, "cut", 0)
    assert change.sure > 0.8


def test_flicker_flashes_and_a_pan_are_no_change():
    gains = 2 ** np.random.default_rng(16).uniform(-0.3, 0.3, 80)
    gains[[20, 50]] = 2.5
    assert found(photograph(data.coffee(), 80, pan=4, gains=gains)) == ()


def test_a_dissolve_is_found_with_both_of_its_ends():
    before, after = photograph(data.astronaut(), 90), photograph(data.coffee(), 90)
    share = np.clip((np.arange(90) - 29) / 25, 0, 1).astype(np.float32)[:, None, None, None]
    (change,) = found(before * (1 - share) + after * share)
    assert change.what == "dissolve"
    assert abs(change.frame - 54) <= 3
    assert abs(change.frame - change.frames - 30) <= 3


def test_a_larger_margin_finds_no_more():
    film = np.concatenate(
        [photograph(picture, 20) for picture in (data.astronaut(), data.coffee(), data.chelsea())]
    )
    counts = [len(found(film, margin)) for margin in (0.5, 1.0, 5.0, 50.0)]
    assert counts == sorted(counts, reverse=True)
    assert counts[1] == 2
    assert counts[-1] == 0


@pytest.mark.parametrize("frames", [1, 2, 9, 40])
@pytest.mark.parametrize("level", [0.0, 0.5, 1.0])
def test_what_is_flat_has_no_change(frames, level):
    assert found(np.full((frames, 3, 12, 16), level, np.float32)) == ()
