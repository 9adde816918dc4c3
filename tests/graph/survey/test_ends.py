"""Where the picture starts and ends: reels of small pictures that are drawn here (invented)."""

import numpy as np
import pytest
from numpy.typing import NDArray
from skimage import data, transform

from lamphouse.graph.media.statistics.row import ROW
from lamphouse.graph.media.statistics.statistics import Statistics
from lamphouse.graph.survey.marks.ends import picture_range

Small = NDArray[np.uint8]
DICE = np.random.default_rng(5)
BLACK, CLEAR, AMBER = (20, 18, 16), (238, 236, 230), (148, 102, 42)


def statistics_of(*parts: Small) -> Statistics:
    small = np.concatenate(parts)
    rows = np.zeros(len(small), ROW)
    rows["small"] = small
    return Statistics(rows, lambda segment: np.zeros((8, 3, 72, 96), np.uint16))


def leader(frames: int, colour: tuple[int, int, int], words: slice = slice(0)) -> Small:
    """Film without a picture, of a little grain, fogged from the left; in some frames strokes stand on it."""
    ground = np.array(colour, np.float64)[:, None, None] + np.linspace(8, 0, 32)
    film = np.tile(ground[:, None].reshape(3, 1, 32), (frames, 1, 24, 1))
    film[words, :, 8:16, 6:24:3] += 90 if sum(colour) < 300 else -90
    return np.asarray(np.clip(film + DICE.normal(0, 1, film.shape), 0, 255), np.uint8)


def shot(frames: int, picture: NDArray[np.uint8], light: float = 1) -> Small:
    """A photograph, which moves a little from frame to frame."""
    whole = transform.resize(picture[..., :3], (24, 40), anti_aliasing=True).transpose(2, 0, 1) * 255 * light
    return np.stack([whole[:, :, at % 8 : at % 8 + 32] for at in range(frames)]).astype(np.uint8)


@pytest.mark.parametrize("colour", [BLACK, CLEAR, AMBER])
def test_the_picture_starts_and_ends_where_the_leaders_do(colour: tuple[int, int, int]) -> None:
    reel = statistics_of(leader(40, colour), shot(60, data.astronaut()), leader(30, colour))
    assert picture_range(reel) == (40, 100)


@pytest.mark.parametrize("words", [slice(10, 25), slice(20, 40), slice(0, 15)])
def test_what_is_written_on_a_leader_up_to_its_end_belongs_to_it(words: slice) -> None:
    head, tail = leader(40, BLACK, words), leader(40, AMBER, words)
    assert picture_range(statistics_of(head, shot(60, data.coffee()), tail)) == (40, 100)


def test_a_dark_first_shot_is_no_writing_on_black_leader() -> None:
    reel = statistics_of(leader(40, BLACK), shot(60, data.rocket(), light=0.35), leader(40, BLACK))
    assert picture_range(reel) == (40, 100)


def test_a_hole_in_a_leader_does_not_end_it() -> None:
    head = leader(40, BLACK)
    head[30:32, :, 8:15, 10:17] = 255
    assert picture_range(statistics_of(head, shot(60, data.coffee()))) == (40, 100)


def test_a_leader_longer_than_what_is_looked_at_together_is_followed_to_its_end() -> None:
    assert picture_range(statistics_of(leader(1200, BLACK), shot(60, data.coffee()))) == (1200, 1260)


def test_a_scan_without_leaders_is_all_picture() -> None:
    assert picture_range(statistics_of(shot(60, data.coffee()))) == (0, 60)


@pytest.mark.parametrize("frames", [1, 2, 5])
def test_so_few_frames_are_no_leader_whatever_they_show(frames: int) -> None:
    assert picture_range(statistics_of(leader(frames, BLACK))) == (0, frames)


@pytest.mark.parametrize("colour", [(0, 0, 0), (128, 128, 128), AMBER])
def test_a_reel_of_leader_alone_has_no_picture(colour: tuple[int, int, int]) -> None:
    assert picture_range(statistics_of(leader(90, colour))) == (90, 90)


def test_noise_is_no_leader() -> None:
    noise = DICE.integers(0, 256, (50, 3, 24, 32)).astype(np.uint8)
    assert picture_range(statistics_of(noise)) == (0, 50)
