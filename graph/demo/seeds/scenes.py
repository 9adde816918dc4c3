"""The scenes of the clean film that a reel may be cut from, and what chance is allowed to do with each."""

from dataclasses import dataclass
from typing import Final

import numpy as np

Dice = np.random.Generator


def dice(number: int, *what: int) -> Dice:
    """Return the dice of one thing in the reel of a number: they do not depend on what else was thrown."""
    return np.random.default_rng((20_377, number, *what))


@dataclass(frozen=True, slots=True)
class Scene:
    """Frames [first, first + frames) of the clean film.

    `light` is where the story itself moves the light, counted from `first`, with the change in stops: such
    a scene runs once and never back. `is_wide`: a part of it is a picture by itself. `is_soft`: painted out
    of focus. `is_shallow`: what lies behind is out of focus and the subject is not. `is_bright`, `is_dark`:
    it reaches white, or black.
    """

    name: str
    shows: str
    first: int
    frames: int
    light: tuple[int, int, float] | None = None
    is_wide: bool = False
    is_soft: bool = False
    is_shallow: bool = False
    is_bright: bool = False
    is_dark: bool = False
    moves: bool = False


HEAD: Final = Scene("head leader", "black leader, two words scratched by hand", 0, 75)
TAIL: Final = Scene("tail leader", "amber leader, fogged where the roll was opened", 960, 40)

SCENES: Final = (
    Scene("chart", "the 24-patch chart on its board in the meadow", 75, 50, is_bright=True),
    Scene("dawn", "dawn on the lake", 125, 85, is_wide=True, moves=True),
    Scene("door", "a child leaves the cottage", 210, 75, is_wide=True, is_bright=True),
    Scene("meadow", "the child walks through the meadow", 285, 75, is_wide=True, is_bright=True, moves=True),
    Scene("face", "close on the child", 360, 70, is_shallow=True),
    Scene("wood", "from the shade of the wood to a bright sky", 430, 100, (32, 76, 1.8), is_dark=True),
    Scene("crossing", "the child rows, out of focus", 530, 70, is_soft=True, is_bright=True),
    Scene("clouds", "evening clouds over the lamp house", 600, 70, is_wide=True),
    Scene("flame", "a flame takes hold in the lantern", 670, 60, (0, 32, 1.4), is_dark=True),
    Scene("dusk", "the boat comes home", 730, 70, is_wide=True, is_dark=True),
    Scene("lamp", "the lamp is lit", 800, 80, (28, 52, 0.4), is_dark=True),
    Scene("answer", "the farther shore answers", 880, 80, (30, 80, 0.25), is_dark=True),
)
