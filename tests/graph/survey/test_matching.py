"""Shots brought to one another: measured against closed forms, and on scikit-image's photographs with known
settings between two crops of each (the settings and the crops are drawn by chance, invented).
"""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import msgspec
import numpy as np
import pytest
import skimage.data
from scipy.stats import norm

from lamphouse.graph.chain.installed import installed
from lamphouse.graph.grade.probe import Probe, Sample
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import ChainRef, Cue, Reel, ScanRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.survey.matching.distance import SHARES, TOWARD, distance
from lamphouse.graph.survey.matching.knobs import knobs_of
from lamphouse.graph.survey.matching.match import Graded, Shown, evened, lab_of, matched
from lamphouse.graph.survey.matching.shots import shot_of, shown, with_settings
from lamphouse.graph.survey.matching.views import strands
from lamphouse.nodes.apply import apply
from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.corrections.primary import PRIMARY
from lamphouse.nodes.errors import BadInput

CELLS = (30, 40)


def opened(chain="plain", cues=()):
    scan = ScanRef(path="scan", frames=100, width=96, height=72, encoding="video")
    reel = Reel(scan=scan, chain=chain_preset(chain).chain, rate="25", gauge="35mm", cues=tuple(cues))
    return OpenedReel(Path("a.reel"), reel, installed())


def crop(photograph, left, top, size=0.6):
    """Cells of a part of a photograph, (3, 30, 40): `left` and `top` in shares of it."""
    height, width, _ = photograph.shape
    rows = (np.linspace(top, top + size, 4 * CELLS[0]) * (height - 1)).astype(int)
    columns = (np.linspace(left, left + size, 4 * CELLS[1]) * (width - 1)).astype(int)
    fine = photograph[rows[:, None], columns, :3].reshape(CELLS[0], 4, CELLS[1], 4, 3) / 255
    return np.moveaxis(fine.mean(axis=(1, 3)), -1, 0)


def spoilt(picture, lift, gamma, gain):
    """What a scan of 10 bits holds where these settings, (3,) each, would make `picture` of it."""
    lift, gamma, gain = (np.reshape(n, (3, 1, 1)) for n in (lift, gamma, gain))
    back = (picture**gamma / gain - lift) / (1 - lift)
    return np.rint(back.clip(0, 1) * 1023) / 1023


def by_chance(dice):
    lift = dice.uniform(-0.03, 0.03) + dice.uniform(-0.02, 0.02, 3)
    gamma = np.exp(dice.uniform(-0.2, 0.2) + dice.uniform(-0.08, 0.08, 3))
    return lift, gamma, np.exp(dice.uniform(-0.3, 0.3) + dice.uniform(-0.12, 0.12, 3))


def graded(picture, reel=None):
    reel = reel or opened()
    controls = reel.controls()
    knobs = knobs_of(reel, controls, controls.neutral)
    return Graded(Probe(reel.program(), controls.neutral), [Sample(np.asarray(picture))], knobs)


def under(settings, picture, chain="plain"):
    reel = opened(chain)
    made = Probe(reel.program(), reel.controls().neutral).changed(Sample(np.asarray(picture)), settings)
    return made.reshape(3, -1)


def off(video, meant):
    """The mean CIEDE2000 between two pictures, pixel by pixel."""
    labs = [lab_of(np.clip(np.reshape(p, (3, -1)), 0, 1)) for p in (video, meant)]
    return float(np.mean(colour_science().delta_E(*labs, method="CIE 2000")))


def test_the_distance_of_two_normal_clouds_is_that_of_the_closed_form():
    # Givens and Shortt (1984): of two normal distributions on a line W2^2 = (m - n)^2 + (s - t)^2; here each
    # quantile alone is asked, so that the spread counts by the squares of the quantiles that are.
    dice = np.random.default_rng(5)
    cloud = dice.standard_normal((50_000, 3))
    by = np.array([5.0, -2.0, 1.0])
    expected = np.mean((TOWARD @ by) ** 2) + np.mean((3 * norm.ppf(SHARES)) ** 2)
    assert distance(50 + 10 * cloud, 50 + by + 7 * cloud) ** 2 == pytest.approx(expected, rel=0.02)
    assert distance(cloud, cloud[::-1]) == pytest.approx(0, abs=1e-12)


@pytest.mark.slow
def test_shots_with_known_settings_between_them_come_near_to_what_is_meant():
    dice = np.random.default_rng(3)
    photographs = [getattr(skimage.data, name)() for name in ("astronaut", "chelsea", "coffee", "rocket")]
    left, nearer = [], []
    for photograph in photographs:
        place = dice.uniform(0.1, 0.3, 2)
        meant = crop(photograph, *place)
        scan = spoilt(meant, *by_chance(dice))
        other = crop(photograph, *(place + dice.uniform(-0.08, 0.08, 2)))
        found = matched(graded(scan), shown_cells(other))
        left.append(off(under(found.settings, scan), meant) / off(scan, meant))
        nearer.append(found.after / found.before)
    assert np.median(nearer) <= 0.3
    assert np.median(left) <= 0.3
    assert max(left) < 1


def shown_cells(picture):
    return Shown(lab_of(picture.reshape(3, -1)))


def test_the_settings_between_two_of_the_same_picture_are_found():
    picture = 0.1 + 0.8 * crop(skimage.data.coffee(), 0.2, 0.2)
    wanted = {"gain": 1.2, "gain_balance": (1.1, 1.0, 0.92), "gamma": 1.1, "lift": 0.02}
    meant = np.moveaxis(apply(PRIMARY, np.moveaxis(picture, 0, -1), settings=wanted), -1, 0)
    found = matched(graded(picture), shown_cells(meant))
    assert off(under(found.settings, picture), meant) < 0.5
    assert found.settings["primary.gain"] == pytest.approx(1.2 * (1.1 * 0.92) ** (1 / 3), abs=0.05)
    assert found.common > 0.95


@pytest.mark.slow
def test_what_only_one_of_two_shots_shows_does_not_draw_the_other_to_it():
    picture = crop(skimage.data.chelsea(), 0.2, 0.2)
    wanted = {"gain": 1.15, "gain_balance": (1.08, 1.0, 0.95)}
    meant = np.moveaxis(apply(PRIMARY, np.moveaxis(picture, 0, -1), settings=wanted), -1, 0)
    other = meant.copy()
    other[:, :, :10] = np.reshape([0.2, 0.3, 0.7], (3, 1, 1))  # a blue wall over a quarter of it
    found = matched(graded(picture), shown_cells(other))
    assert off(under(found.settings, picture), meant) < 0.4 * off(picture, meant)


@pytest.mark.parametrize("chain", ["cdl", "sky", "negative", "finishing"])
def test_a_shot_is_matched_by_what_its_chain_has(chain):
    picture = crop(skimage.data.coffee(), 0.2, 0.2)[:, ::3, ::3] * 0.8 + 0.1
    reel = opened(chain)
    shot = graded(picture, reel)
    wanted = {"primary.gain": 1.2, "primary.gain_balance": (1.05, 1.0, 0.95)}
    meant = under(wanted, picture, chain)
    found = matched(shot, Shown(lab_of(meant)))
    assert set(found.settings) <= set(reel.controls().parameters)
    assert found.after < 0.2 * found.before


def test_a_chain_without_balances_is_refused_in_a_sentence():
    reel = opened()
    bare = reel.with_reel(msgspec.structs.replace(reel.reel, chain=ChainRef(nodes=(), output="scan")))
    with pytest.raises(BadInput, match="no balance to match with"):
        knobs_of(bare, bare.controls(), bare.controls().neutral)


def test_a_primary_that_was_off_is_on_after_a_match_and_what_it_had_stored_is_neutral():
    cue = Cue(frame=0, settings={"primary.on": "off", "primary.gain": 4.0, "saturation.amount": 0.9})
    reel = opened(cues=[cue])
    picture = crop(skimage.data.coffee(), 0.2, 0.2)[:, ::3, ::3]
    shot = shot_of(reel, cue, [picture])
    assert np.allclose(shot.as_it_is().seen, lab_of(under({"saturation.amount": 0.9}, picture)), atol=1e-6)
    changed = with_settings(reel.reel, {0: {"primary.gain_balance": (1.1, 1.0, 0.9)}}, reel.controls())
    assert reel.with_reel(changed).settings(0)["primary.gain"] == 1.0
    assert changed.cues[0].settings["primary.on"] == "on"


def scene(photograph, dice, count):
    """A scene of so many shots, each a part of one photograph under settings of its own."""
    for _ in range(count):
        yield spoilt(crop(photograph, *dice.uniform(0.17, 0.24, 2))[:, ::2, ::2], *by_chance(dice))


@pytest.mark.slow
@pytest.mark.parametrize(("name", "seed"), [("astronaut", 8), ("coffee", 56)])
def test_evening_a_scene_of_ten_leaves_a_third_of_its_largest_step_and_the_whole_as_it_was(name, seed):
    scans = list(scene(getattr(skimage.data, name)(), np.random.default_rng(seed), 10))
    shots = [graded(scan) for scan in scans]
    found = evened(shots)
    assert max(found.after) <= max(found.before) / 3
    made = [lab_of(under(settings, scan)) for settings, scan in zip(found.settings, scans, strict=True)]
    seen = [distance(a, b) for a, b in pairwise(made)]
    now = [distance(a.as_it_is().seen, b.as_it_is().seen) for a, b in pairwise(shots)]
    assert max(seen) <= max(now) / 3
    gains = [np.log(settings["primary.gain"]) for settings in found.settings]
    assert np.mean(gains) == pytest.approx(0, abs=0.02)


@pytest.mark.slow
def test_a_scene_that_goes_to_and_fro_between_views_is_evened_view_by_view():
    dice, meant = np.random.default_rng(21), []
    for number in range(7):
        name = ("astronaut", "coffee", "astronaut", "coffee", "chelsea", "coffee", "astronaut")[number]
        meant.append(crop(getattr(skimage.data, name)(), *dice.uniform(0.2, 0.22, 2))[:, ::2, ::2])
    scans = [spoilt(picture, *by_chance(dice)) for picture in meant]
    found = evened([graded(scan) for scan in scans])
    assert (found.pairs, found.views, found.settings[4]) == (((0, 2), (1, 3), (2, 6), (3, 5)), 2, {})
    made = [under(settings, scan) for settings, scan in zip(found.settings, scans, strict=True)]
    for view in ((0, 2, 6), (1, 3, 5)):
        before, after = (
            uneven([shots[n] for n in view], [meant[n] for n in view]) for shots in (scans, made)
        )
        assert after < before / 3


def uneven(shots, meant):
    """How far the mean colours of shots are from those meant, beside one another, in CIELAB."""
    apart = [
        lab_of(a.reshape(3, -1)).mean(axis=0) - lab_of(b.reshape(3, -1)).mean(axis=0)
        for a, b in zip(shots, meant, strict=True)
    ]
    return np.linalg.norm(apart - np.mean(apart, axis=0))


def test_views_are_told_apart_whatever_their_light_and_one_place_is_one_view():
    dice = np.random.default_rng(22)
    names = ("astronaut", "rocket") * 3
    places = [
        crop(getattr(skimage.data, name)(), *dice.uniform(0.17, 0.24, 2))[:, ::2, ::2] for name in names
    ]
    scans = [[spoilt(picture, *by_chance(dice))] for picture in places]
    assert strands(scans) == [[0, 2, 4], [1, 3, 5]]
    assert strands(scans[::2] + scans[1::2]) == [[0, 1, 2, 3, 4, 5]]  # neither comes back
    assert strands(scans[::2]) == [[0, 1, 2]]


def test_shots_that_are_even_stay_as_they_are():
    dice = np.random.default_rng(8)
    crops = [crop(skimage.data.astronaut(), *dice.uniform(0.17, 0.24, 2))[:, ::2, ::2] for _ in range(4)]
    found = evened([graded(picture) for picture in crops])
    assert found.after == found.before
    assert not any(found.settings)


def test_two_scans_of_one_picture_meet_half_way():
    picture = 0.1 + 0.7 * crop(skimage.data.coffee(), 0.2, 0.2)[:, ::2, ::2]
    found = evened([graded(picture / 1.1), graded(picture * 1.1)])
    assert max(found.after) < 0.05 * max(found.before)
    for settings, scan in zip(found.settings, (picture / 1.1, picture * 1.1), strict=True):
        assert off(under(settings, scan), picture) < 0.5


@pytest.mark.parametrize("level", [0.0, 0.45, 1.0])
def test_a_shot_without_a_picture_stays_and_those_about_it_are_neighbours(level):
    picture = 0.1 + 0.7 * crop(skimage.data.coffee(), 0.2, 0.2)[:, ::2, ::2]
    grain = 0.003 * np.random.default_rng(2).standard_normal(picture.shape)
    scans = (picture / 1.1, np.clip(level + grain, 0, 1), picture * 1.1)
    with_it = evened([graded(scan) for scan in scans])
    without = evened([graded(scan) for scan in scans[::2]])
    assert with_it.pairs == ((0, 2),)
    assert with_it.settings == (without.settings[0], {}, without.settings[1])


def test_fewer_than_two_shots_with_a_picture_are_no_scene():
    with pytest.raises(BadInput, match="two shots or more"):
        evened([graded(np.full((3, 2, 2), 0.5))])
    picture = crop(skimage.data.coffee(), 0.2, 0.2)
    with pytest.raises(BadInput, match="Fewer than two of these shots show a picture"):
        evened([graded(picture), graded(np.zeros((3, 2, 2)))])


def test_a_picture_of_any_size_becomes_cells():
    video = np.random.default_rng(1).uniform(size=(3, 100, 130)).astype(np.float32)
    assert shown(video).seen.shape == (18 * 24, 3)
    assert shown(video[:, :5, :7]).seen.shape == (18 * 24, 3)
