"""What happened to each frame of a reel of chance: place in the gate, exposure, dust. Drawn beforehand."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.demo.canvas import Raster
from lamphouse.graph.demo.seeds.roll import SeededPlan, Shot
from lamphouse.graph.demo.seeds.scenes import dice
from lamphouse.graph.demo.story import RATE
from lamphouse.graph.demo.wear import WEAVE, Speck

LEAST_SPECK, MOST_SPECK = 0.0022, 0.0085  # radius in picture heights
FIBRE: Final = (0.012, 0.035)  # half length


@dataclass(frozen=True, slots=True)
class Worn:
    """What became of every frame: place (frames, 2), right and down in heights, gain of light, dust."""

    place: NDArray[np.float64]
    flicker: NDArray[np.float64]
    dust: tuple[tuple[Speck, ...], ...]


def worn(plan: SeededPlan, raster: Raster) -> Worn:
    """Return the wear of the whole roll. A frame that the scanner took twice is the same both times."""
    place, flicker = _place(plan), _flicker(plan)
    specks = [
        _dust(plan, shot, frame, raster) for shot in plan.shots for frame in range(shot.start, shot.stop)
    ]
    for again in plan.doubled():
        place[again], flicker[again], specks[again] = place[again - 1], flicker[again - 1], specks[again - 1]
    return Worn(np.round(place, 6), np.round(flicker, 6), tuple(specks))


def _place(plan: SeededPlan) -> NDArray[np.float64]:
    """Return the wander and the tremble of the picture, and a jolt at every splice."""
    throw = dice(plan.number, 5)
    steps = throw.standard_normal((2, plan.frames, 2))
    path, slow = np.zeros((plan.frames, 2)), np.zeros(2)
    for frame in range(plan.frames):
        slow = 0.90 * slow + 0.44 * steps[0, frame]
        path[frame] = 0.8 * slow + 0.5 * steps[1, frame]
    scale = np.concatenate([np.full(shot.stop - shot.start, shot.piece.weave) for shot in plan.shots])
    path *= plan.weave * scale[:, None] * WEAVE
    for shot, joint in zip(plan.shots[1:], plan.junctions, strict=True):
        if joint.what == "cut":
            path[shot.first : shot.first + 3] += np.outer((1.6, 0.8, 0.3), throw.standard_normal(2) * WEAVE)
            path[shot.first : shot.first + 2, 1] += np.array((1.0, 0.4)) * joint.jolt
    return path


def _flicker(plan: SeededPlan) -> NDArray[np.float64]:
    """Return the gain of the light by frame: a beat of the shutter and chance; and flashes."""
    stops = np.concatenate([_beat(plan, shot) for shot in plan.shots])
    for shot, joint in zip(plan.shots, plan.junctions, strict=False):
        stops[shot.stop - 1] += joint.flash
    for shot in plan.shots:
        if shot.piece.flash_at is not None:
            at = shot.first + shot.piece.flash_at
            stops[at] += dice(plan.number, 6, at).uniform(1.2, 2.4)
    return np.asarray(2.0**stops)


def _beat(plan: SeededPlan, shot: Shot) -> NDArray[np.float64]:
    throw = dice(plan.number, 7, shot.start)
    frames = np.arange(shot.stop - shot.start)
    beat = np.sin(2 * np.pi * throw.uniform(3, 7) * frames / RATE + throw.uniform(0, 6))
    swing = (0.95 * beat + 0.65 * throw.standard_normal(len(frames))) / 1.7
    return np.asarray(shot.piece.flicker * np.clip(swing, -1, 1))


def _dust(plan: SeededPlan, shot: Shot, frame: int, raster: Raster) -> tuple[Speck, ...]:
    throw = dice(plan.number, 8, frame)
    return tuple(_speck(throw, raster) for _ in range(int(throw.poisson(shot.piece.dust))))


def _speck(throw: np.random.Generator, raster: Raster) -> Speck:
    x, y, turn = throw.uniform(0, (raster.aspect, 1, np.pi))
    is_fibre, is_bright = (bool(side) for side in throw.random(2) < (0.15, 0.35))
    size = throw.uniform(*FIBRE) if is_fibre else min(LEAST_SPECK * (1 + throw.pareto(2.5)), MOST_SPECK)
    return Speck(float(x), float(y), float(size), float(turn), is_bright, is_fibre)
