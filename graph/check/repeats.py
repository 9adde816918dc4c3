"""Frames that are those before them again: held pictures, and the cadence by which film becomes video.

The grain of film never falls twice alike, so a picture that comes again code for code was copied. Each field
is followed by itself: where film runs in two fields a picture stands in three of them and no frame repeats.
"""

from __future__ import annotations

from array import array
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.check.findings import Finding, Names, Weight
from lamphouse.graph.check.generated import generated
from lamphouse.graph.check.runs import runs_of
from lamphouse.graph.check.shots import Shots
from lamphouse.graph.check.subject import Subject
from lamphouse.graph.check.watches import Seen
from lamphouse.graph.media.master.decoded import LOSSLESS
from lamphouse.graph.reel.span import Span

LINES: Final = 64  # of each field that are followed, where it has twice as many or more
WITHIN: Final = 12  # frames on either side that tell how much moves from one frame to the next
LITTLE: Final = 0.15  # of that, and half a code of 8 bits: a picture again, coded with loss. Invented
CODE: Final = 0.5
HELD: Final = 3  # frames that a picture stands still, from where on it is held and not just repeated
UNKNOWN: Final = -1.0  # the step to a frame that nobody saw, or from what no camera made
GAPS: Final = 6  # between repeats, at least, to speak of a cadence
REGULAR: Final = 0.8  # of the gaps that have to be alike


class Repeats:
    """A watch for repeated frames: `span` says which are meant; `is_exact` that no code was lost."""

    def __init__(self, span: Span | None, *, is_exact: bool = True) -> None:
        self._span, self._is_exact = span, is_exact
        self._before: list[NDArray[Any]] | None = None
        self._last = -1
        self._numbers = array("q")
        self._steps = array("f"), array("f")  # mean difference of the codes of each field, in 8 bits

    @classmethod
    def of(cls, subject: Subject) -> Repeats:
        """Return the watch that is wanted of `subject`."""
        delivery = subject.delivery
        return cls(subject.span, is_exact=delivery is not None and delivery.codec in LOSSLESS)

    def see(self, number: int, frame: Seen) -> None:
        """Measure how far a frame is off the one before it."""
        if generated(frame.small) or (self._span is not None and number not in self._span.film):
            self._before = None
            return
        green = frame.planes[1 if frame.layout.family == "rgb" else 0]
        apart = max(2, len(green) // (2 * LINES) * 2)  # even, so that they are of one field
        now = [np.ascontiguousarray(green[field::apart]) for field in (0, 1)]
        scale = 2.0 ** (8 - frame.layout.bits - frame.layout.shift)
        follows = self._before is not None and self._last == number - 1
        self._numbers.append(number)
        for field, steps in enumerate(self._steps):
            step = _step(self._before[field], now[field]) * scale if self._before and follows else UNKNOWN
            steps.append(step)
        self._before, self._last = now, number

    def found(self, names: Names) -> Iterator[Finding]:
        """Yield frames that repeat the one before them and should not, or should and do not."""
        again = [_again(np.array(steps)) for steps in self._steps]
        meant = [self._meant(field) for field in (0, 1)]
        is_known = self._span is not None
        held = again[0] & again[1] & ~(meant[0] & meant[1])
        if not is_known and (pattern := _cadence(self._numbers, held)) is not None:
            regular, breaks = pattern
            yield from self._broken(breaks, names)
            held &= ~regular
        yield from self._held(held, names)
        if is_known and self._is_exact:
            yield from self._lacking(
                [a & (np.array(s) > 0) for a, s in zip(meant, self._steps, strict=True)], names
            )

    def _meant(self, field: int) -> NDArray[np.bool_]:
        """Return which frames show in `field` what the one before them shows there, as the record has it."""
        span = self._span
        if span is None or span.is_one_for_one:
            return np.zeros(len(self._numbers), bool)
        shown = (
            (_in_field(span.shown(n - 1), field), _in_field(span.shown(n), field)) for n in self._numbers
        )
        return np.array([one is not None and one == other for one, other in shown], bool)

    def _held(self, held: NDArray[np.bool_], names: Names) -> Iterator[Finding]:
        shots = Shots(self._span)
        frames = {self._numbers[n]: 0.0 for n in np.flatnonzero(held)}
        for run in runs_of(frames, shots.of, gap=0):
            first, count = run.first - 1, run.count
            if count < HELD:
                how = "repeats the one before it" if count == 1 else "repeat the one before them"
                yield names.finding("repeated", run.first, run.stop, how, weight="caution")
                continue
            weight: Weight = "fault" if self._span and self._is_exact else "caution"
            how = f"stand still: the picture is held for {count + 1} frames"
            yield names.finding("held", first, run.stop, how, weight=weight)

    def _lacking(self, differing: Sequence[NDArray[np.bool_]], names: Names) -> Iterator[Finding]:
        assert self._span is not None
        if self._span.delivery.burn_in:
            return  # readings of their own are drawn into each
        frames = {self._numbers[n]: 0.0 for n in np.flatnonzero(differing[0] | differing[1])}
        for run in runs_of(frames, Shots(self._span).of):
            how = "differ from what is before, though the cadence shows the same film frame again"
            yield names.finding(
                "cadence", run.first, run.stop, how.replace("differ", "differs", run.count == 1)
            )

    def _broken(self, breaks: Sequence[tuple[int, int, str]], names: Names) -> Iterator[Finding]:
        for number, gap, usual in breaks:
            how = f"repeats {gap} frames after the last one, where {usual} are due: some are missing or extra"
            yield names.finding("cadence", number, number + 1, how, weight="caution")

    def said(self) -> Iterator[str]:
        """Yield nothing: what is found good here is that nothing was found."""
        return iter(())


def _in_field(shown: tuple[int, ...], field: int) -> int | None:
    """Return the film frame that a field shows; where a frame has one picture that serves for both."""
    return shown[min(field, len(shown) - 1)] if shown else None


def _step(before: NDArray[Any], now: NDArray[Any]) -> float:
    """Return the mean difference of two sets of lines, of every other column; 0 only where all are equal."""
    if np.array_equal(before, now):
        return 0.0
    off = float(np.mean(np.abs(before[:, ::2].astype(np.int32) - now[:, ::2])))
    return max(off, 1e-6)


def _again(steps: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Return which steps are none, or as good as none beside those around them."""
    again = steps == 0
    for index in np.flatnonzero((steps > 0) & (steps < CODE)):
        near = steps[max(0, index - WITHIN) : index + WITHIN + 1]
        moving = near[near > CODE]
        again[index] = len(moving) >= WITHIN // 2 and steps[index] < LITTLE * float(np.median(moving))
    return np.asarray(again)


def _cadence(
    numbers: Sequence[int], again: NDArray[np.bool_]
) -> tuple[NDArray[np.bool_], list[tuple[int, int, str]]] | None:
    """Return which repeats are of a cadence, and where it breaks: frame, gap before it, and the usual gap.

    A film of any rate in a video of any other repeats after n or n + 1 frames, and so it does to its end.
    """
    at = [numbers[int(n)] for n in np.flatnonzero(again)]
    gaps = [after - before for before, after in pairwise(at)]
    if len(gaps) < GAPS:
        return None
    counts = Counter(gaps)
    low = max(counts, key=lambda gap: counts[gap] + counts[gap + 1])
    usual = {low, low + 1} if counts[low + 1] else {low}
    if low < 2 or sum(counts[gap] for gap in usual) < REGULAR * len(gaps):
        return None
    words = " or ".join(map(str, sorted(usual)))
    breaks = [(n, gap, words) for n, gap in zip(at[1:], gaps, strict=True) if gap not in usual]
    return again.copy(), breaks
