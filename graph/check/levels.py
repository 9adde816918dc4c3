"""Levels of the delivered codes: what lies beyond the limits of EBU R 103, and what is cut off at an end."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from lamphouse.graph.check.findings import Finding, Names, Weight
from lamphouse.graph.check.runs import Run, runs_of
from lamphouse.graph.check.shots import Shot, Shots
from lamphouse.graph.check.subject import Subject
from lamphouse.graph.check.watches import Seen
from lamphouse.graph.media.codes.levels import HELD
from lamphouse.graph.media.codes.r103_share import share_beyond
from lamphouse.graph.media.codes.ycbcr import codes
from lamphouse.nodes.corrections.limit import R103
from lamphouse.nodes.levels import Ends
from lamphouse.nodes.one_line import sentence

RULE: Final = "EBU R 103"
SOURCE: Final = "EBU R 103 v3.0 (May 2020), second-hand: 5 to 246 in 8 bits, 20 to 984 in 10"
CLIPPED: Final = 0.001  # of a shot's pixels: fewer at an end are left unsaid. Invented
MUCH: Final = 0.02  # of its pixels at an end, from where on somebody should look. Invented
# Where frames go on to be beyond, every fourth is judged in full; of the others a few pixels tell the rest.
GOES_ON: Final = 3  # frames in a row
EVERY: Final = 4
ENDS: Final = {
    "nominal": ("at or below black", "at or above white"),
    "r103": ("at the lower limit of EBU R 103", "at its upper limit"),
    "full": ("at the lowest code", "at the highest code"),
}
WHOLE: Final = 1 << 16  # pixels of a picture that is counted whole; of a larger one some are picked


@dataclass(slots=True)
class _Ends:
    """Pixels of one shot at the lower end and at the upper, of so many; the worst frame at each."""

    pixels: int = 0
    counts: tuple[int, int] = (0, 0)
    worst: tuple[tuple[float, int], tuple[float, int]] = ((0.0, 0), (0.0, 0))

    def add(self, number: int, pixels: int, counts: tuple[int, int]) -> None:
        self.pixels += pixels
        self.counts = self.counts[0] + counts[0], self.counts[1] + counts[1]
        low, high = (
            max(worst, (count / pixels, -number)) for worst, count in zip(self.worst, counts, strict=True)
        )
        self.worst = low, high


class Levels:
    """A watch for levels: `limits` are the ends of the signal, of which `area` (0..1) may lie beyond.

    `held` are the levels that the delivery keeps to, where that is known.
    """

    def __init__(
        self,
        limits: Ends = R103,
        area: float = 0.01,
        *,
        shots: Shots,
        is_filtered: bool = True,
        is_interlaced: bool = False,
        held: str = "nominal",
    ) -> None:
        self._limits, self._area, self._shots = limits, area, shots
        self._is_filtered, self._is_interlaced, self._held = is_filtered, is_interlaced, held
        self._beyond: dict[int, float] = {}
        self._most, self._last, self._due, self._in_a_row = 0.0, 0, 0, 0
        self._ends: defaultdict[Shot, _Ends] = defaultdict(_Ends)

    @classmethod
    def of(cls, subject: Subject) -> Levels:
        """Return the watch that is wanted of `subject`."""
        settings, delivery = subject.settings, subject.delivery
        return cls(
            limits_of(float(settings["levels.low"]), float(settings["levels.high"])),
            float(settings["levels.area"]) / 100,
            shots=Shots(subject.span),
            is_filtered=settings["levels.filter"] == "on",
            is_interlaced=subject.is_interlaced,
            held=delivery.levels if delivery else "nominal",
        )

    def see(self, number: int, frame: Seen) -> None:
        """Judge a frame, and count what of it is at an end."""
        self._last = number
        if number < self._due and self._goes_on(frame):
            self._beyond[number] = self._area  # more than that, how much is not known
        else:
            self._judge(number, frame)
        if (shot := self._shots.of(number)) is not None:
            self._count(shot, number, frame)

    def _judge(self, number: int, frame: Seen) -> None:
        share = share_beyond(
            frame.coded,
            self._limits,
            is_interlaced=self._is_interlaced,
            is_filtered=self._is_filtered,
            ignored=self._area,
        )
        self._most = max(self._most, share)
        self._in_a_row = self._in_a_row + 1 if share > self._area else 0
        if share > self._area:
            self._beyond[number] = share
        self._due = number + (EVERY if self._in_a_row >= GOES_ON else 1)

    def _goes_on(self, frame: Seen) -> bool:
        """Say whether so many of a few pixels lie beyond, unfiltered, that a judgement would say the same."""
        rgb, (low, high) = frame.rgb(frame.step), self._limits
        beyond = np.count_nonzero((rgb.min(axis=0) < low) | (rgb.max(axis=0) > high))
        return bool(beyond > 2 * self._area * rgb[0].size)

    def _count(self, shot: Shot, number: int, frame: Seen) -> None:
        low, high = self._codes_held(frame)
        rgb = frame.rgb(1 if frame.luma.size <= WHOLE else frame.step)
        below = int(np.count_nonzero(rgb.min(axis=0) <= low))
        above = int(np.count_nonzero(rgb.max(axis=0) >= high))
        self._ends[shot].add(number, rgb[0].size, (below, above))

    def _codes_held(self, frame: Seen) -> Ends:
        """Return the signal half a code within the ends of what is held."""
        numbers = codes(frame.layout.bits, frame.coding.range_)
        lowest = (numbers.lowest - numbers.luma_zero) / numbers.luma_span
        highest = (numbers.highest - numbers.luma_zero) / numbers.luma_span
        low, high = HELD.get(self._held, (lowest, highest))
        half = 0.5 / numbers.luma_span
        return max(low, lowest) + half, min(high, highest) - half

    def found(self, names: Names) -> Iterator[Finding]:
        """Yield runs of frames beyond the limits, then shots of which much is at an end."""
        for run in runs_of(self._beyond, self._shots.of):
            yield self._finding(run, names)
        for shot, ends in self._ends.items():
            yield from self._clipped(shot, ends, names)

    def _finding(self, run: Run, names: Names) -> Finding:
        is_one = run.count == 1
        low, high = (100 * end for end in self._limits)
        worst = "" if is_one else f" at most, in {names.within(run.worst)}"
        what = f"beyond {low:.1f} to {high:.1f} % of signal in {100 * run.most:.2f} % of the picture{worst}"
        predicate = f"{'lies' if is_one else 'lie'} {what}, where {100 * self._area:g} % may"
        return names.finding(
            "levels", run.first, run.stop, predicate, rule=RULE, source=SOURCE, worst=run.worst
        )

    def _clipped(self, shot: Shot, ends: _Ends, names: Names) -> Iterator[Finding]:
        shares = [count / ends.pixels for count in ends.counts]
        if max(shares) < CLIPPED:
            return
        sides = zip(ENDS[self._held], shares, ends.worst, strict=True)
        said = " and ".join(
            f"{100 * share:.1f} % of its pixels {side} (most in frame {-number}, {100 * worst:.1f} %)"
            for side, share, (worst, number) in sides
            if share >= CLIPPED
        )
        weight: Weight = "caution" if max(shares) >= MUCH else "note"
        place = names.place(shot.first, min(shot.stop, self._last + 1))
        yield Finding("clipped", sentence(f"{shot.words} has {said}."), **place, weight=weight)

    def said(self) -> Iterator[str]:
        """Yield what was found good."""
        if self._beyond:
            return
        low, high = (100 * end for end in self._limits)
        passed = "once its filter has passed, " if self._is_filtered else ""
        yield (
            f"Levels by EBU R 103: {passed}no frame lies beyond {low:.1f} to {high:.1f} % of signal in more "
            f"than {100 * self._most:.2f} % of its picture, where {100 * self._area:g} % may."
        )


def limits_of(low: float, high: float) -> Ends:
    """Return ends of the signal of so many per cent; those of EBU R 103 are the codes that it names."""
    return R103 if (low, high) == (-5.0, 105.0) else (low / 100, high / 100)
