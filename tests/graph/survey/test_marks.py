"""Marks of a reel: where the picture starts and ends, leaders, punched holes, sync pips.

Reels of small pictures are drawn here, of photographs of scikit-image; all that is done to them is invented.
"""

from collections.abc import Callable
from dataclasses import replace as with_fields
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import soundfile
from msgspec.structs import replace
from numpy.typing import NDArray
from skimage import data, transform

from lamphouse.graph.media.statistics.row import ROW
from lamphouse.graph.media.statistics.statistics import Statistics
from lamphouse.graph.reel.records import Mark, SoundRef
from lamphouse.graph.survey.look import Look
from lamphouse.graph.survey.marks.ends import picture_range
from lamphouse.graph.survey.marks.proposed import proposals
from lamphouse.graph.survey.proposal import Proposal
from lamphouse.graph.survey.take import take

Small = NDArray[np.uint8]
DICE = np.random.default_rng(5)
BLACK, CLEAR, AMBER = (20, 18, 16), (238, 236, 230), (148, 102, 42)


def statistics_of(*parts: Small) -> Statistics:
    small = np.concatenate(parts)
    rows = np.zeros(len(small), ROW)
    rows["small"] = small
    return Statistics(rows, lambda segment: np.zeros((8, 4, 72, 96), np.uint16))


def leader(frames: int, colour: tuple[int, int, int], words: slice = slice(0)) -> Small:
    """Film without a picture, of a little grain, fogged from the left; in some frames strokes stand on it."""
    ground = np.array(colour, np.float64)[:, None, None] + np.linspace(8, 0, 32)
    film = np.tile(ground[:, None].reshape(3, 1, 32), (frames, 1, 24, 1))
    film[words, :, 8:16, 6:24:3] += 90 if sum(colour) < 300 else -90
    return np.asarray(np.clip(film + DICE.normal(0, 1, film.shape), 0, 255), np.uint8)


@cache
def photograph(name: str) -> NDArray[np.float64]:
    return (
        transform.resize(getattr(data, name)()[..., :3], (24, 40), anti_aliasing=True).transpose(2, 0, 1)
        * 255
    )


def shot(frames: int, name: str, light: float = 1) -> Small:
    """A photograph, over which the camera turns to and fro."""
    places = [4 - abs(at % 8 - 4) for at in range(frames)]
    return np.stack([photograph(name)[:, :, at : at + 32] * light for at in places]).astype(np.uint8)


@pytest.mark.parametrize("colour", [BLACK, CLEAR, AMBER])
def test_the_picture_starts_and_ends_where_the_leaders_do(colour: tuple[int, int, int]) -> None:
    reel = statistics_of(leader(40, colour), shot(60, "astronaut"), leader(30, colour))
    assert picture_range(reel) == (40, 100)


@pytest.mark.parametrize("words", [slice(10, 25), slice(20, 40), slice(0, 15)])
def test_what_is_written_on_a_leader_up_to_its_end_belongs_to_it(words: slice) -> None:
    head, tail = leader(40, BLACK, words), leader(40, AMBER, words)
    assert picture_range(statistics_of(head, shot(60, "coffee"), tail)) == (40, 100)


def test_a_dark_first_shot_is_no_writing_on_black_leader() -> None:
    reel = statistics_of(leader(40, BLACK), shot(60, "rocket", light=0.35), leader(40, BLACK))
    assert picture_range(reel) == (40, 100)


def test_a_hole_in_a_leader_does_not_end_it() -> None:
    head = leader(40, BLACK)
    head[30:32, :, 8:15, 10:17] = 255
    assert picture_range(statistics_of(head, shot(60, "coffee"))) == (40, 100)


def test_a_leader_longer_than_what_is_looked_at_together_is_followed_to_its_end() -> None:
    assert picture_range(statistics_of(leader(1200, BLACK), shot(60, "coffee"))) == (1200, 1260)


def test_a_scan_without_leaders_is_all_picture() -> None:
    assert picture_range(statistics_of(shot(60, "coffee"))) == (0, 60)


@pytest.mark.parametrize("frames", [1, 2, 5])
def test_so_few_frames_are_no_leader_whatever_they_show(frames: int) -> None:
    assert picture_range(statistics_of(leader(frames, BLACK))) == (0, frames)


@pytest.mark.parametrize("colour", [(0, 0, 0), (128, 128, 128), AMBER])
def test_a_reel_of_leader_alone_has_no_picture(colour: tuple[int, int, int]) -> None:
    assert picture_range(statistics_of(leader(90, colour))) == (90, 90)


def test_noise_is_no_leader() -> None:
    noise = DICE.integers(0, 256, (50, 3, 24, 32)).astype(np.uint8)
    assert picture_range(statistics_of(noise)) == (0, 50)


def test_a_shot_that_fades_in_from_a_black_leader_starts_where_it_is_first_seen() -> None:
    lights = np.linspace(0, 1, 24)
    fade = np.concatenate([shot(1, "coffee", light) for light in lights]) + np.uint8(12)
    reel = statistics_of(leader(40, (12, 12, 12)), fade, shot(60, "coffee"))
    assert abs(picture_range(reel)[0] - 40) <= 4  # of a few thousandths of white


@pytest.mark.parametrize("apart", [16, 24, 25])  # a foot of 35 mm, and a second
def test_a_count_down_and_the_black_after_it_are_leader(apart: int) -> None:
    count = countdown(apart, figures=6)
    head = [count, leader(47, BLACK)]
    assert picture_range(statistics_of(*head, shot(60, "coffee"))) == (len(count) + 47, len(count) + 107)


def test_a_card_that_stands_before_black_is_picture() -> None:
    card = np.repeat(countdown(24, figures=1)[:1], 120, axis=0)
    assert picture_range(statistics_of(card, leader(20, BLACK), shot(60, "coffee"))) == (0, 200)


def countdown(apart: int, figures: int) -> Small:
    """Figures on a grey ground with lines, and a hand that sweeps round once for each of them."""
    down, right = np.mgrid[:24, :32]
    turn = np.arctan2(right - 16, 12 - down) % (2 * np.pi)
    film = np.full((apart * figures, 3, 24, 32), 130.0)
    for at, picture in enumerate(film):
        figure, place = divmod(at, apart)
        picture[:, turn < 2 * np.pi * place / apart] -= 40
        picture[:, 12, 3:-3] = picture[:, 3:-3, 16] = 20
        picture[:, 6:18, 10:22] = np.where(np.random.default_rng(figure).random((12, 12)) < 0.4, 20, 130)
        picture[:, :, :4] = picture[:, :, -4:] = 200
    return np.asarray(film + DICE.normal(0, 1, film.shape), np.uint8)


def disc(
    film: Small, frames: slice, colour: tuple[int, int, int] = (255, 255, 255), size: float = 3.0
) -> Small:
    """Film with a hole in some frames, sharp but for what the cells at its edge mix."""
    down, right = np.mgrid[:24, :32]
    share = np.clip(size + 0.5 - np.hypot(down - 11.3, right - 17.6), 0, 1)
    punched = film.copy()
    ground = film[frames].astype(np.float64)
    punched[frames] = ground + (np.array(colour)[:, None, None] - ground) * share
    return punched


Looks = Callable[..., Look]


def marks(look_of: Looks, *parts: Small) -> list[tuple[str, int, int]]:
    found = proposals(look_of(statistics_of(*parts)))
    return sorted((each.what, each.frame, each.frames) for each in found)


def holes(look_of: Looks, *parts: Small) -> list[tuple[str, int, int]]:
    return [each for each in marks(look_of, *parts) if each[0] in ("head mark", "punched hole")]


@pytest.mark.parametrize("colour", [(255, 255, 255), (255, 120, 60), (40, 250, 255)])
@pytest.mark.parametrize("lasts", [1, 2])
def test_a_hole_at_the_head_is_the_head_mark_and_one_at_the_tail_a_mark(
    look_of: Looks, colour: tuple[int, int, int], lasts: int
) -> None:
    head = disc(leader(40, BLACK, slice(8, 30)), slice(12, 12 + lasts), colour)
    tail = disc(leader(40, AMBER), slice(20, 20 + lasts))
    found = marks(look_of, head, shot(60, "coffee"), tail)
    assert found == [
        ("end of picture", 99, 1),
        ("head leader", 0, 40),
        ("head mark", 12, lasts),
        ("punched hole", 120, lasts),
        ("start of picture", 40, 1),
        ("tail leader", 100, 40),
    ]


def test_a_hole_in_the_picture_is_found_and_not_called_sure(look_of: Looks) -> None:
    film = disc(shot(200, "rocket"), slice(20, 22))
    (mark,) = proposals(look_of(statistics_of(film)))
    assert (mark.what, mark.frame, mark.frames) == ("head mark", 20, 2)
    assert not mark.is_sure


def glow(film: Small, frames: slice) -> Small:
    """Film with light in some frames that falls off softly: a flash bulb's."""
    down, right = np.mgrid[:24, :32]
    light = 300 * np.exp(-((down - 11.3) ** 2 + (right - 17.6) ** 2) / 18)
    lit = film.copy()
    lit[frames] = np.clip(film[frames] + light, 0, 255).astype(np.uint8)
    return lit


def flash(film: Small, frames: slice) -> Small:
    """Film with all of its light three times as strong in some frames."""
    lit = film.copy()
    lit[frames] = np.clip(film[frames] * 3.0 + 60, 0, 255).astype(np.uint8)
    return lit


def thrown(film: Small, frames: slice) -> Small:
    """Film over which a white ball flies, by its own size from frame to frame."""
    down, right = np.mgrid[:24, :32]
    seen = film.copy()
    for at in range(frames.start, frames.stop):
        seen[at, :, np.hypot(down - 12, right - 4 - 5 * (at - frames.start)) < 3.2] = 255
    return seen


def ball(film: Small) -> Small:
    return thrown(film, slice(20, 26))


@pytest.mark.parametrize(
    "spoilt",
    [
        lambda film: glow(film, slice(20, 21)),
        lambda film: flash(film, slice(20, 21)),
        lambda film: flash(film, slice(20, 22)),
        ball,
        lambda film: disc(film, slice(20, 60)),  # a lamp that is lit, and put out
        lambda film: disc(film, slice(20, 26)),
        lambda film: disc(film, slice(20, 21), size=0.9),  # a speck of dirt on the negative
        lambda film: disc(film, slice(20, 21), (0, 0, 0)),  # dust
    ],
)
@pytest.mark.parametrize("ground", ["rocket", "coffee", "black leader"])
def test_flashes_dirt_a_lamp_and_a_ball_are_no_hole(
    look_of: Looks, spoilt: Callable[[Small], Small], ground: str
) -> None:
    if ground == "black leader" and spoilt is ball:
        return  # which nobody throws there
    film = leader(130, BLACK) if ground == "black leader" else shot(130, ground)
    assert not holes(look_of, spoilt(film), shot(60, "astronaut"))


@pytest.mark.parametrize(
    "reel",
    [
        shot(100, "coffee"),
        DICE.integers(0, 256, (60, 3, 24, 32)).astype(np.uint8),
        np.full((1, 3, 24, 32), 128, np.uint8),
    ],
    ids=["picture", "noise", "one frame"],
)
def test_a_reel_without_marks_has_none_proposed(look_of: Looks, reel: Small) -> None:
    assert not marks(look_of, reel)


@pytest.mark.parametrize("code", [0, 128, 255])
def test_film_without_any_picture_is_one_leader(look_of: Looks, code: int) -> None:
    assert marks(look_of, np.full((50, 3, 24, 32), code, np.uint8)) == [("leader", 0, 50)]


def reel_with_marks(look_of: Looks) -> Look:
    head = disc(leader(40, BLACK), slice(12, 14))
    return look_of(statistics_of(head, shot(60, "coffee"), leader(40, AMBER)))


def test_marks_that_were_taken_are_not_proposed_again(look_of: Looks) -> None:
    look = reel_with_marks(look_of)
    reel = take(look.opened, proposals(look))
    assert reel.head_mark == 12
    again = replace_reel(look, reel.head_mark, reel.marks)
    assert list(proposals(again)) == []


def test_a_head_mark_that_a_person_has_set_stands(look_of: Looks) -> None:
    look = replace_reel(reel_with_marks(look_of), head_mark=5)
    found = {each.what: each.frame for each in proposals(look)}
    assert "head mark" not in found
    assert found["punched hole"] == 12


def replace_reel(look: Look, head_mark: int, marks: tuple[Mark, ...] = ()) -> Look:
    reel = replace(look.opened.reel, head_mark=head_mark, marks=marks)
    return with_fields(look, opened=look.opened.with_reel(reel))


def with_sound(look: Look, folder: Path, *frames: int, starts_at: int = 0) -> Look:
    """A look at a reel with a sound: a tone of 1 kHz for as long as a frame is shown, with each of some."""
    wave = np.zeros(8000 * 8)
    for frame in frames:
        at = (frame - starts_at) * 320
        wave[at : at + 320] = 0.1 * np.sin(2 * np.pi * np.arange(320) / 8)
    soundfile.write(folder / "sound.wav", wave, 8000)
    reel = replace(look.opened.reel, rate="25", sound=SoundRef(path="sound.wav", starts_at=starts_at))
    return with_fields(look, opened=with_fields(look.opened, reel=reel, file=folder / "a.reel"))


def pips(look: Look) -> list[Proposal]:
    return [each for each in proposals(look) if each.what == "sync pip"]


def test_pips_beside_the_leaders_are_marks_at_their_frames(look_of: Looks, tmp_path: Path) -> None:
    head, tail = leader(70, BLACK), leader(70, AMBER)
    look = look_of(statistics_of(head, shot(60, "coffee"), tail))
    found = pips(with_sound(look, tmp_path, 20, 179))
    assert [(each.frame, each.is_sure) for each in found] == [(20, True), (179, True)]
    assert found[0].why == "A tone of 40 ms in the sound, 2.00 s before the picture starts."
    assert [each.frame for each in pips(with_sound(look, tmp_path, 30, starts_at=10))] == [30]


def test_a_tone_beside_the_picture_is_not_called_sure(look_of: Looks, tmp_path: Path) -> None:
    look = look_of(statistics_of(shot(200, "coffee")))
    assert [(each.frame, each.is_sure) for each in pips(with_sound(look, tmp_path, 20))] == [(20, False)]


def test_a_sound_that_is_silent_lost_or_broken_has_no_pip(look_of: Looks, tmp_path: Path) -> None:
    look = with_sound(reel_with_marks(look_of), tmp_path)
    assert pips(look) == []
    (tmp_path / "sound.wav").write_bytes(b"RIFF")
    assert pips(look) == []
    (tmp_path / "sound.wav").unlink()
    assert pips(look) == []


@pytest.mark.slow
def test_all_marks_of_a_reel_of_chance_are_found_to_the_frame_and_no_others(
    seeded_look: Callable[..., tuple[Look, object]],
) -> None:
    look, truth = seeded_look(1)
    first, stop, frames = truth.first_picture, truth.last_picture + 1, truth.frames
    assert sorted((each.what, each.frame, each.frames) for each in proposals(look)) == [
        ("end of picture", stop - 1, 1),
        ("head leader", 0, first),
        ("head mark", truth.head_mark, truth.mark_frames),
        ("punched hole", truth.tail_mark, truth.mark_frames),
        ("start of picture", first, 1),
        ("tail leader", stop, frames - stop),
    ]
