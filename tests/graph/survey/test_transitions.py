"""Light that changes inside a shot: on photographs of scikit-image, lit as is known (the courses are
invented), and on reels of chance.
"""

from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace
from skimage import data

from lamphouse.graph.cues.settings import CueList
from lamphouse.graph.edits.cues import set_cue
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.grade.visibility import MARK, of_transition
from lamphouse.graph.media.statistics.statistics import measured
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Reel, ScanRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.survey.look import Change
from lamphouse.graph.survey.survey import survey
from lamphouse.graph.survey.take import take
from lamphouse.graph.survey.transitions.light import course
from lamphouse.graph.survey.transitions.proposed import proposals
from lamphouse.graph.survey.transitions.ramps import Ramp, fitted
from lamphouse.graph.survey.transitions.settings import countered
from lamphouse.nodes.catalogue import Catalogue

FRAMES = 90
FALL = np.array([-0.8, -1.0, -1.1])


def smooth(first, stop, frames=FRAMES):
    t = np.clip((np.arange(frames) - first) / (stop - first), 0, 1)
    return t * t * (3 - 2 * t)


def even(first, stop, frames=FRAMES):
    return np.clip((np.arange(frames) - first) / (stop - first), 0, 1)


def photograph(stops, picture=None, pan=0.0, grain=0.01):
    """Frames (n, 3, 72, 96) of a photograph in such light, (n, 3) in stops, with weave and grain."""
    dice = np.random.default_rng(len(stops))
    image = np.moveaxis(data.astronaut() if picture is None else picture, -1, 0).astype(np.float32) / 255
    image = image[:, :, 40:].reshape(3, image.shape[1], -1)
    light = 0.75 * 2.0 ** (np.asarray(stops) / 2.4)
    film = []
    for frame, gains in enumerate(light):
        left, top = 30 + round(pan * frame) + dice.integers(0, 2), 40 + dice.integers(0, 2)
        seen = image[:, top : top + 216, left : left + 288].reshape(3, 72, 3, 96, 3).mean(axis=(2, 4))
        film.append(seen * gains[:, None, None] + dice.normal(0, grain, seen.shape))
    return np.clip(film, 0, 1).astype(np.float32)


def opened_for(frames, chain="plain", **scan):
    ref = ScanRef(path="scan", frames=frames, width=96, height=72, **scan)
    return OpenedReel(Path("a.reel"), Reel(scan=ref, chain=chain_preset(chain).chain), Catalogue())


def transitions(film, opened=None, changes=()):
    """What is proposed where the changes of shot are these; None: where they are looked for."""
    opened = opened or opened_for(len(film))
    found = survey(opened, measured(film, len(film)), only=["transitions"], changes=changes)
    return list(found.proposals)


def flicker(size, frames=FRAMES):
    beat = np.sin(2 * np.pi * 5 * np.arange(frames) / 18)
    chance = np.random.default_rng(4).standard_normal(frames)
    return (size * np.clip((0.95 * beat + 0.65 * chance) / 1.7, -1, 1))[:, None]


def test_a_cloud_that_comes_and_goes_is_two_transitions_between_the_frames_where_it_moves():
    course_ = smooth(10, 42)[:, None] * FALL - even(54, 78)[:, None] * FALL
    film = photograph(course_)
    falls, rises = transitions(film)
    ends = [falls.frame - falls.frames, falls.frame, rises.frame - rises.frames, rises.frame]
    assert np.abs(np.subtract(ends, [10, 42, 54, 78])).max() <= 4
    assert (falls.ease, rises.ease) == ("soft", "even")
    assert falls.amount == pytest.approx(-1.0, abs=0.08)
    assert falls.is_sure
    assert rises.is_sure
    assert rises.begin == falls.settings
    assert falls.begin == {"primary.gain": 1.0, "primary.gain_balance": (1.0, 1.0, 1.0)}


def test_what_is_taken_leaves_a_fifth_of_the_change_and_no_larger_step_and_is_not_proposed_again():
    film = photograph(even(20, 62)[:, None] * FALL)
    opened = opened_for(FRAMES)
    (found,) = transitions(film, opened)
    taken = opened.with_reel(take(opened, [found]))
    (cue,) = taken.reel.cues
    assert (cue.frame, cue.begins, cue.ease) == (found.frame, "transition", "even")
    with Grade(taken, threads=1) as grade:
        graded = np.stack([grade.correct(frame, picture) for frame, picture in enumerate(film)])
    for size in (np.ptp, lambda light: np.abs(light[12:] - light[:-12]).max()):
        scanned, mended = (size(np.median(each, axis=(1, 2, 3))) for each in (film, graded))
        assert mended < 0.2 * scanned
    meter = of_transition(taken, cue, film[20].reshape(3, -1)[:, ::50])
    assert meter.step < MARK
    assert f"{meter.step:.1f}" in found.why
    assert transitions(film, taken) == []


def test_settings_go_evenly_where_they_would_show_by_going_as_the_light_does():
    film = photograph(np.zeros((2, 3)), grain=0)
    opened = opened_for(FRAMES)
    ways = [
        countered(opened, opened.controls().neutral, [film[0]], Ramp(10, stop, "soft", tuple(1.3 * FALL)))
        for stop in (34, 70)
    ]
    assert [way.ease for way in ways] == ["even", "soft"]
    assert max(way.meter.step for way in ways) < MARK


@pytest.mark.parametrize("size", [0.05, 0.15, 0.3])
def test_flicker_alone_is_no_transition(size):
    assert transitions(photograph(np.zeros((FRAMES, 3)) + flicker(size))) == []


def test_a_change_of_light_is_found_through_flicker():
    (found,) = transitions(photograph(smooth(24, 60)[:, None] * FALL + flicker(0.25)))
    assert abs(found.frame - 60) <= 12
    assert abs(found.frame - found.frames - 24) <= 12
    assert found.amount == pytest.approx(-1.0, abs=0.15)


def test_a_camera_that_turns_is_not_taken_for_light_and_what_light_there_is_is_less_sure():
    level = np.zeros((FRAMES, 3))
    assert transitions(photograph(level, pan=1.5)) == []
    (found,) = transitions(photograph(even(20, 60)[:, None] * -FALL - 1.1, pan=1.5))
    assert abs(found.frame - 60) <= 12
    assert "camera" in found.why
    assert not found.is_sure


def test_what_walks_through_the_picture_and_a_lamp_in_a_corner_are_no_transition():
    film = photograph(np.zeros((FRAMES, 3)))
    for frame in range(FRAMES):
        film[frame, :, 20:, max(0, frame - 30) : frame] = 0.15
    assert transitions(film) == []
    film = photograph(np.zeros((FRAMES, 3)))
    film[:, :, :40, :40] *= (0.4 + 0.6 * even(30, 50))[:, None, None, None]
    assert transitions(film) == []


def test_a_fade_and_a_dissolve_are_none_of_its_own():
    shares = np.clip(np.arange(FRAMES) / 30, 0.02, 1)[:, None]
    film = photograph(np.log2(shares) * 2.4 + np.zeros(3))
    assert transitions(film, changes=(Change(30, "fade in", 0.9, 30),)) == []
    share = even(30, 60)[:, None, None, None]
    level = np.zeros((FRAMES, 3))
    mixed = photograph(level) * (1 - share) + share * photograph(level - 1.5, data.coffee())
    assert transitions(mixed.astype(np.float32), changes=None) == []


def test_the_next_shot_keeps_the_settings_that_it_had():
    film = np.concatenate([photograph(smooth(20, 60)[:, None] * FALL), photograph(np.zeros((30, 3)))])
    opened = opened_for(len(film))
    opened = opened.with_reel(set_cue(opened.reel, 0, opened.controls(), {"primary.gain": 1.2}))
    (found,) = transitions(film, opened, (Change(FRAMES, "cut", 1.0),))
    reel = take(opened, [found])
    at = CueList(reel.cues, opened.controls()).at
    assert [cue.frame for cue in reel.cues] == [0, found.frame, FRAMES]
    assert at(FRAMES)["primary.gain"] == at(0)["primary.gain"] == 1.2
    assert at(FRAMES - 1)["primary.gain"] > 1.4


def test_a_start_that_is_taken_with_it_is_kept_and_the_way_laid_over_it():
    film = photograph(smooth(20, 60)[:, None] * FALL)
    opened = opened_for(FRAMES)
    (found,) = transitions(film, opened)
    started = set_cue(opened.reel, 0, opened.controls(), {"primary.gain": 0.8, "primary.lift": -0.02})
    reel = take(opened.with_reel(started), [found])
    at = CueList(reel.cues, opened.controls()).at
    assert at(0)["primary.gain"] == 0.8
    assert at(80)["primary.lift"] == -0.02
    assert at(80)["primary.gain"] == pytest.approx(0.8 * found.settings["primary.gain"])


def test_a_persons_own_cue_in_the_change_stands():
    film = photograph(smooth(20, 60)[:, None] * FALL)
    opened = opened_for(FRAMES)
    reel = set_cue(opened.reel, 70, opened.controls(), {}, begins="transition", length=30)
    assert transitions(film, opened.with_reel(reel)) == []


CHAINS = [(chain, "video") for chain in ("plain", "cdl", "sky", "negative", "finishing")]


@pytest.mark.parametrize(("chain", "encoding"), [*CHAINS, ("negative", "density"), ("plain", "light")])
def test_settings_counter_the_light_through_the_chain_that_there_is(chain, encoding):
    opened = opened_for(FRAMES, chain, encoding=encoding)
    picture = photograph(np.zeros((1, 3)), grain=0)[0] * 0.8 + 0.05
    ramp = Ramp(10, 40, "even", (-0.8, -1.0, -1.1))
    neutral = opened.controls().neutral
    found = countered(opened, neutral, [picture], ramp)
    video = opened.with_reel(replace(opened.reel, scan=replace(opened.reel.scan, encoding="video")))
    shown = []
    for settings, stops in (({}, 0.0), ({}, FALL), (dict(found.settings), FALL)):
        lit = picture * (2.0 ** (np.broadcast_to(stops, 3) / 2.4))[:, None, None]
        reel = set_cue(video.reel, 0, opened.controls(), settings)
        with Grade(video.with_reel(reel), threads=1) as grade:
            shown.append(grade.correct(0, lit.astype(np.float32)))
    assert np.abs(shown[2] - shown[0]).mean() < 0.1 * np.abs(shown[1] - shown[0]).mean()
    assert 0 < found.meter.step < MARK


def test_a_ramp_of_a_long_take_is_found_to_a_few_frames_and_a_flash_is_none():
    frames = 1500
    light = (1.2 * smooth(200, 500, frames) - 0.9 * even(1010, 1050, frames))[:, None] * np.ones(3)
    light += np.random.default_rng(2).normal(0, 0.03, (frames, 1))
    light[800:802] += 2.0
    rises, falls = fitted(light).ramps
    assert np.abs(np.subtract([rises.first, rises.stop], [200, 500])).max() <= 12
    assert np.abs(np.subtract([falls.first, falls.stop], [1010, 1050])).max() <= 4
    assert (rises.ease, falls.ease) == ("soft", "even")
    assert fitted(np.zeros((1, 3))).ramps == fitted(np.zeros((40, 3))).ramps == ()


def test_the_course_of_light_is_that_of_its_gains():
    stops = even(10, 40)[:, None] * FALL
    small = photograph(stops).reshape(FRAMES, 3, 24, 3, 32, 3).mean(axis=(3, 5))
    np.testing.assert_allclose(course(small).stops[-1], FALL, atol=0.05)


@pytest.mark.parametrize("level", [0.0, 0.5, 1.0])
@pytest.mark.parametrize("frames", [1, 2, 7, 40])
def test_what_is_flat_has_no_change_of_light(frames, level):
    assert transitions(np.full((frames, 3, 12, 16), level, np.float32)) == []


@pytest.mark.slow
def test_on_a_reel_of_chance_every_change_of_light_is_found_and_evened_and_nothing_else(seeded_look):
    look, truth = seeded_look(1)
    found = list(proposals(look))
    assert len(found) == len(truth.drifts)
    for proposal, drift in zip(found, truth.drifts, strict=True):
        assert abs(proposal.frame - proposal.frames - drift.first) <= 12
        assert abs(proposal.frame - drift.stop) <= 12
    taken = look.opened.with_reel(take(look.opened, found))
    small = look.statistics.rows["small"] / np.float32(255)
    with Grade(taken, threads=1) as grade:
        for drift in truth.drifts:
            seen = range(drift.first - 6, drift.stop + 6)
            graded = np.stack([grade.correct(frame, small[frame]) for frame in seen])
            scanned = course(small[seen.start : seen.stop]).stops
            assert np.abs(course(graded).stops[-1]).max() < 0.3 * np.abs(scanned[-1]).max()


def test_noise_has_no_change_of_light():
    film = np.random.default_rng(1).uniform(size=(60, 3, 24, 32)).astype(np.float32)
    assert transitions(film) == []
