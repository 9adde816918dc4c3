"""What is different in every frame of the roll: weave, exposure, dust. All drawn beforehand.

Each frame has its own dice, so that a frame is the same whichever thread makes it.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.demo.canvas import Raster
from lamphouse.graph.demo.story import RATE, Roll, Shot

THROW: Final = 1619
WEAVE: Final = (0.0016, 0.0012)  # spread across and down, in picture heights (invented, plausible for 16 mm)
WEAVE_LIMIT: Final = 0.006


@dataclass(frozen=True, slots=True)
class Speck:
    """One speck of dust in one frame, in picture heights; a fibre is long and bent."""

    x: float
    y: float
    size: float
    turn: float
    bright: bool
    fibre: bool


@dataclass(frozen=True, slots=True)
class Wear:
    """What became of one frame: weave in pixels (right, down), gain of its light, and its dust."""

    dx: float
    dy: float
    flicker: float
    dust: tuple[Speck, ...]


def wear(roll: Roll, raster: Raster) -> tuple[Wear, ...]:
    """Return the wear of every frame of the roll."""
    weave = _weave(roll) * raster.unit
    gains = np.concatenate([_flicker(shot) for shot in roll.shots])
    frames = []
    for shot in roll.shots:
        for frame in range(shot.first, shot.stop):
            dx, dy = (round(float(step), 4) for step in weave[frame])
            frames.append(Wear(dx, dy, round(float(gains[frame]), 6), _dust(shot, frame, raster)))
    return tuple(frames)


def _weave(roll: Roll) -> NDArray[np.float64]:
    """Return (frames, 2) in picture heights: a slow wander, a tremble, and a jolt at every splice."""
    dice = np.random.default_rng((THROW, 1))
    steps = dice.standard_normal((2, roll.frames, 2))
    jolt = np.zeros((roll.frames, 2))
    for shot in roll.shots:
        for late, part in enumerate((1.6, 0.8, 0.3)):
            jolt[shot.first + late] += part * dice.standard_normal(2)
    path = np.zeros((roll.frames, 2))
    slow = np.zeros(2)
    for frame in range(roll.frames):
        slow = 0.90 * slow + 0.44 * steps[0, frame]
        path[frame] = 0.8 * slow + 0.5 * steps[1, frame] + jolt[frame]
    return np.clip(path * WEAVE, -WEAVE_LIMIT, WEAVE_LIMIT)


def _flicker(shot: Shot) -> NDArray[np.float64]:
    """Return the gain of the light in each frame of a shot: a beat of the shutter, and chance.

    Held within 1.7 times the spread, so that even the flickering shot stays far below
    the change of a tenth of reference white that counts as a flash.
    """
    dice = np.random.default_rng((THROW, 2, shot.first))
    beat = np.sin(2 * np.pi * 5.3 * np.arange(shot.frames) / RATE + dice.uniform(0, 6))
    swing = 0.95 * beat + 0.65 * dice.standard_normal(shot.frames)
    return np.asarray(1 + shot.flicker * np.clip(swing, -1.7, 1.7))


def _dust(shot: Shot, frame: int, raster: Raster) -> tuple[Speck, ...]:
    dice = np.random.default_rng((THROW, 3, frame))
    specks = []
    for _ in range(int(dice.poisson(shot.dust))):
        x, y, turn = dice.uniform(0, raster.aspect), dice.uniform(0, 1), dice.uniform(0, np.pi)
        fibre = bool(dice.uniform() < 0.18)
        size = dice.uniform(0.012, 0.030) if fibre else 0.0016 + 0.0020 * dice.pareto(2.5)
        specks.append(
            Speck(
                float(x),
                float(y),
                float(min(size, 0.03 if fibre else 0.0055)),
                float(turn),
                bool(dice.uniform() < 0.35),
                fibre,
            )
        )
    return tuple(specks)
