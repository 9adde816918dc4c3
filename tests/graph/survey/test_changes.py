"""Changes of shot on a reel of chance, whose truth is known, and on photographs that nobody made for this."""

import subprocess

import numpy as np
import pytest
from skimage import data

from lamphouse.graph.media.statistics.statistics import measured
from lamphouse.graph.survey.changes.cuts import unsettled
from lamphouse.graph.survey.changes.evidence import changes, evidence
from lamphouse.graph.survey.changes.mixing import mixing
from lamphouse.graph.survey.changes.ramps import ramp


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
def test_a_reel_of_chance_has_its_changes_of_shot_and_no_other(seeded_look):
    look, truth = seeded_look(1)
    for what, off in {"cut": 1, "dissolve": 4, "fade in": 4, "fade out": 4}.items():
        seen = [change for change in look.changes if change.what == what]
        known = truth.changes_of(what)
        assert len(seen) == len(known), what
        for one, true in zip(seen, known, strict=True):
            assert abs(one.frame - true.frame) <= off
            assert abs(one.frame - one.frames - true.frame + true.frames) <= off


def test_a_cut_between_photographs_is_found_where_it_is():
    film = np.concatenate([photograph(data.astronaut(), 40), photograph(data.chelsea(), 40)])
    (change,) = found(film)
    assert (change.frame, change.what, change.frames) == (40, "cut", 0)
    assert change.sure > 0.8


def drawn(source):
    """Frames of one of FFmpeg's sources."""
    command = [
        "ffmpeg",
        "-v",
        "error",
        "-f",
        "lavfi",
        "-i",
        f"{source}:size=160x120:rate=24",
        "-frames:v",
        "48",
    ]
    raw = subprocess.run(
        [*command, "-f", "rawvideo", "-pix_fmt", "gbrp", "-"], check=True, capture_output=True
    )
    return np.frombuffer(raw.stdout, np.uint8).reshape(-1, 3, 120, 160)[:, [2, 0, 1]] / np.float32(255)


def test_a_cut_into_or_out_of_what_is_other_in_every_frame_is_found():
    bars, teeming = drawn("testsrc2=d=9"), drawn("life=mold=10:ratio=0.2:death_color=0x802020:seed=7")
    for shots in ((bars, teeming), (teeming, bars)):
        assert [change.frame for change in found(np.concatenate(shots))] == [48]


@pytest.mark.parametrize("seed", [1, 3, 7])
def test_it_is_found_where_the_picture_weaves_by_a_fiftieth_of_its_width_too(seed):
    teeming = drawn(f"life=mold=10:ratio=0.2:death_color=0x802020:seed={seed}")
    film = np.concatenate([drawn("testsrc2=d=9"), teeming])
    moves = np.random.default_rng(seed).integers(-3, 4, (len(film), 2))
    woven = np.stack([np.roll(frame, move, (1, 2)) for frame, move in zip(film, moves, strict=True)])
    assert [change.frame for change in found(woven)] == [48]


@pytest.mark.parametrize("speed", [8, 16, 24])
def test_a_camera_that_stands_and_then_swings_makes_no_cut(speed):
    image = np.moveaxis(data.coffee(), -1, 0).astype(np.float32) / 255
    places = np.concatenate([np.zeros(40, int), np.arange(1, 1 + 448 // speed) * speed])
    assert found(np.stack([image[:, 60:156, x : x + 128] for x in places])) == ()


def test_what_frames_apart_alone_show_is_a_cut_unless_a_movement_explains_it():
    image = np.moveaxis(data.coffee(), -1, 0)[:, :384:16, ::16]
    noise = np.random.default_rng(2).integers(0, 256, (3, 24, 32), np.uint8)
    small = np.stack([image[..., :32], image[..., 5:37], noise])
    scores, most = (np.full(3, score, np.float32) for score in (0.5, 1.5))
    assert unsettled(small, scores, most).tolist() == [0.5, 0.5, 1.5]


def test_flicker_flashes_and_a_pan_are_no_change():
    gains = 2 ** np.random.default_rng(16).uniform(-0.3, 0.3, 80)
    gains[[20, 50]] = 2.5
    assert found(photograph(data.coffee(), 80, pan=4, gains=gains)) == ()


@pytest.mark.parametrize(("power", "frames"), [(1.0, 12), (2.4, 30)], ids=["in signal", "in light"])
def test_a_dissolve_is_found_with_both_of_its_ends(power, frames):
    before, after = photograph(data.astronaut(), 90), photograph(data.coffee(), 90)
    share = np.clip((np.arange(90) - 29) / (frames + 1), 0, 1).astype(np.float32)[:, None, None, None]
    (change,) = found((before**power * (1 - share) + after**power * share) ** (1 / power))
    assert change.what == "dissolve"
    assert abs(change.frame - 30 - frames) <= 3
    assert abs(change.frame - change.frames - 30) <= 3


def fading_in(colour, power, frames=40):
    """A photograph that fades in from `colour` in frames 20 to 40, even in the signal or its `power`."""
    share = np.clip((np.arange(40 + frames) - 19) / 21, 0, 1)[:, None, None, None] ** power
    shown = photograph(data.astronaut(), len(share)) * 0.9 + 0.03
    return (colour + (shown - colour) * share).astype(np.float32)


@pytest.mark.parametrize(("colour", "power"), [(1.0, 1.0), (0.0, 2.4)], ids=["white", "late"])
def test_both_ends_of_a_fade_are_where_its_gain_begins_to_change_and_ends_to(colour, power):
    film = fading_in(colour, power)
    (fade_in,), (fade_out,) = found(film), found(film[::-1])
    assert (fade_in.what, fade_out.what) == ("fade in", "fade out")
    ends = np.array([fade_in.frame - fade_in.frames, fade_in.frame])
    assert np.abs(ends - (20, 40)).max() <= 1
    ends = np.array([fade_out.frame - fade_out.frames, fade_out.frame])
    assert np.abs(ends - (40, 60)).max() <= 1


def test_light_that_goes_on_changing_is_no_part_of_a_fade():
    gains = (1 + np.clip((np.arange(80) - 40) / 40, 0, 1) * 0.6)[:, None, None, None]
    (fade,) = found((fading_in(0.0, 1.0) * 0.6 * gains).astype(np.float32))
    assert fade.what == "fade in"
    assert abs(fade.frame - 40) <= 1


def test_a_cut_just_beside_a_fade_is_found_with_it():
    film = np.concatenate([fading_in(0.0, 1.0)[:44], photograph(data.coffee(), 40)])
    fade, cut = found(film)
    assert (fade.what, cut.what, cut.frame) == ("fade in", "cut", 44)
    assert abs(fade.frame - 40) <= 1


def test_a_dissolve_just_beside_a_fade_is_found_with_it():
    film = fading_in(0.0, 1.0, frames=60)
    share = np.clip((np.arange(100) - 43) / 17, 0, 1).astype(np.float32)[:, None, None, None]
    fade, dissolve = found(film + (photograph(data.coffee(), 100) - film) * share)
    assert (fade.what, dissolve.what) == ("fade in", "dissolve")
    assert abs(fade.frame - 40) <= 2
    assert abs(dissolve.frame - dissolve.frames - 44) <= 3


def test_a_ramp_that_is_cut_off_has_no_ends():
    assert ramp(np.zeros((26, 8), np.float32), 20, 40) is None


@pytest.mark.parametrize("pan", [2, 5])
def test_a_camera_that_swings_over_what_it_saw_before_makes_no_dissolve(pan):
    image = np.concatenate([data.astronaut()[:400], data.coffee()[:, :512]], axis=1)
    places = np.clip((np.arange(80) - 30) * pan * 4, 0, 360)
    film = np.stack([image[60:156, at : at + 128] for at in places]).transpose(0, 3, 1, 2) / np.float32(255)
    assert [change for change in found(film) if change.what != "cut"] == []


def test_frames_between_two_pictures_are_a_mix_of_them_by_what_they_hold():
    dice = np.random.default_rng(7)
    first, second = dice.integers(20, 220, (2, 3, 24, 32))
    share = np.arange(14)[:, None, None, None] / 13
    small = np.rint(first + (second - first) * share).astype(np.uint8)
    whole = mixing(small, np.ones((3, 24, 32), np.float32), 1, 13)
    assert whole.explained > 0.98  # codes are whole numbers
    assert abs(whole.dip - 1) < 0.05
    assert whole.uneven < 0.01
    moved = np.stack([np.roll(first, 2 * at, axis=2) for at in range(14)]).astype(np.uint8)
    assert mixing(moved, np.ones((3, 24, 32), np.float32), 1, 13).score < 0.1


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
