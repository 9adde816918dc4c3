"""How visible a transition is: the largest colour difference that it makes from one frame to the next.

A good transition is one that nobody sees. Two things give it away: a step, which is a difference within one
frame, and a pace, which is a difference within one second. Both are measured on pixels of one picture under
the settings of each frame, so that what moves in the film does not count.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.reel.counters import counter
from lamphouse.graph.reel.records import Cue
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.time.rate import nominal
from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.lab import lab_of_video

Pixels = NDArray[Any]  # (n, 3), video signal

# CIEDE2000 is built so that a difference of 1 is about a just noticeable one, side by side. A step of that
# size from one frame to the next is our mark: a choice of ours, in no standard.
MARK: Final = 1.0
PIXELS: Final = 256  # of a frame, spread evenly over it (our choice)


@dataclass(frozen=True, slots=True)
class Visibility:
    """What a transition shows, in CIEDE2000, each the largest over the pixels.

    `steps` holds, for each frame from start + 1 to stop - 1, its difference from the frame before. `step` is
    the largest of them, at frame `step_at`; `second` is the largest between frames a second apart (the first
    and the last of what is shorter), the later of which is `second_at`.
    """

    steps: NDArray[np.float64]
    step: float
    step_at: int
    second: float
    second_at: int

    @property
    def is_over(self) -> bool:
        """Whether a step reaches the mark of one unit a frame."""
        return self.step >= MARK


def sampled(picture: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return pixels (3, n) spread evenly over a picture (3, h, w)."""
    flat = picture.reshape(3, -1)
    places = np.linspace(0, flat.shape[1] - 1, min(PIXELS, flat.shape[1])).astype(int)
    return np.ascontiguousarray(flat[:, places])


def of_transition(opened: OpenedReel, cue: Cue, pixels: NDArray[np.floating[Any]]) -> Visibility:
    """Measure the transition that `cue` of the reel begins with on `pixels` of the scan, (3, n).

    Raises BadInput for a cue without one, and as the chain does.
    """
    with Grade(opened, threads=1) as grade:
        return of_transition_in(grade, cue, pixels, counter(opened.reel).rate)


def of_transition_in(grade: Grade, cue: Cue, pixels: NDArray[np.floating[Any]], rate: Fraction) -> Visibility:
    """Measure a transition as `of_transition` does, of a reel that is made ready already."""

    def pixels_at(frame: int) -> Pixels:
        return grade.correct(frame, pixels).T

    return visibility(pixels_at, cue.frame - cue.length, cue.frame + 1, rate)


def visibility(pixels_at: Callable[[int], Pixels], start: int, stop: int, rate: Fraction) -> Visibility:
    """Measure frames [start, stop); `pixels_at(frame)` gives the same pixels under that frame's settings.

    About 1 microsecond a pixel and frame. Raises BadInput for fewer than two frames. Source: Sharma, Wu and
    Dalal (2005), in colour-science.
    """
    if stop - start < 2:
        raise BadInput(
            f"Frames {start} to {stop} are no change to measure; a transition has two frames or more."
        )
    lab = np.stack([lab_of_video(pixels_at(frame)) for frame in range(start, stop)])
    steps = _largest(lab[:-1], lab[1:])
    apart = min(nominal(rate), len(lab) - 1)
    seconds = _largest(lab[:-apart], lab[apart:])
    at, second_at = int(np.argmax(steps)), int(np.argmax(seconds))
    return Visibility(
        steps, float(steps[at]), start + at + 1, float(seconds[second_at]), start + second_at + apart
    )


def _largest(before: NDArray[np.float64], after: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the largest CIEDE2000 of each frame, (frames,), between two stacks (frames, n, 3) of CIELAB."""
    differences = colour_science().delta_E(before, after, method="CIE 2000")
    largest: NDArray[np.float64] = np.max(np.asarray(differences, np.float64), axis=1)
    return largest
