"""Flashing pictures, found as a master's frames go by: too many flashes a second over too large a part.

Each place of a coarse grid is followed by itself, in light as the assumed display gives it. So what flashes
in turn in separate parts is not added up, and whatever flashes at the same time is, whichever way.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.check.findings import Finding, Names
from lamphouse.graph.check.flashes.display import Display, cells_of, luminance
from lamphouse.graph.check.flashes.forms import (
    FORMS,
    RED,
    RED_SHARE,
    RED_SOURCE,
    RUN,
    STRIPES_SOURCE,
    Limit,
    apart,
)
from lamphouse.graph.check.flashes.stretches import Stretch, Stretches
from lamphouse.graph.check.flashes.stripes import LINES, stripes_of
from lamphouse.graph.check.flashes.swings import Swings
from lamphouse.graph.check.flashes.tally import Flashing, Runs, Tally, merged
from lamphouse.graph.media.codes.shrink import means
from lamphouse.graph.media.codes.ycbcr import codes

if TYPE_CHECKING:
    from lamphouse.graph.check.subject import Subject
    from lamphouse.graph.check.watches import Seen

Grid = NDArray[np.float32]

CAUTION: Final = (
    "Flashing pictures can harm people with photosensitive epilepsy; this is guidance and no certificate: "
    "local rules and licensed testing decide, and what has failed is looked at in stills and never moving."
)


class _Kind:
    """Swings of one size, and whoever counts them."""

    def __init__(self, rate: Fraction, swings: Swings, limits: Iterable[Limit]) -> None:
        self._swings, self.runs = swings, Runs(rate, apart(rate))
        self.tallies = [Tally(rate, limit) for limit in limits]

    def take(self, number: int, value: Grid, marked: Any = None) -> None:
        up, down = self._swings.take(value, marked)
        for tally in self.tallies:
            tally.take(number, up | down)
        self.runs.take(number, up)

    def skip(self) -> None:
        """Pass over a frame that nobody saw, which is taken to be as the last one."""
        for tally in self.tallies:
            tally.skip()

    def forget(self) -> None:
        """Begin anew, keeping what was found."""
        self._swings.forget()
        for tally in self.tallies:
            tally.forget()


class Flashes:
    """A watch for flashes: see `forms.py` for the rules, and `display.py` for the screen that is assumed.

    `rate` is that of the master, in frames a second; `form` a name of `FORMS`.
    """

    def __init__(self, rate: Fraction, display: Display | None = None, form: str = "BT.1702") -> None:
        self._rate, self._display, self._form = rate, display or Display(), FORMS[form]
        limits = self._form.limits
        self._general = [self._of_change(change) for change in sorted({limit.change for limit in limits})]
        over_red = float(np.nextafter(np.float32(RED), np.float32(np.inf)))
        self._stretches, self._next = Stretches(rate), 0
        self._red = _Kind(rate, Swings(over_red), [Limit(RED, min(limit.most for limit in limits))])

    @classmethod
    def of(cls, subject: Subject) -> Flashes:
        """Return the watch that is wanted of `subject`."""
        peak, black, gamma = (
            float(subject.settings[f"flashes.{name}"]) for name in ("peak", "black", "gamma")
        )
        return cls(subject.rate, Display(peak, black, gamma), str(subject.settings["flashes.form"]))

    def _of_change(self, change: float) -> _Kind:
        form, peak = self._form, self._display.peak
        swings = Swings(form.in_light(change, peak), form.in_light(form.darker, peak))
        return _Kind(self._rate, swings, [limit for limit in form.limits if limit.change == change])

    def see(self, number: int, frame: Seen) -> None:
        """Look at frame `number`."""
        light = cells_of(self._display.light(frame.rgb(frame.step)))
        self.take(number, light, frame.coding.matrix)
        if self._stretches.wants(number):
            self.take_stripes(number, self._luminance(frame))

    def _luminance(self, frame: Seen) -> Grid:
        """Return the means of squares of a frame in cd/m2, so that fine stripes give no coarse ones."""
        side = max(1, frame.luma.shape[0] // LINES)
        numbers = codes(frame.layout.bits, frame.coding.range_)
        signal = (means(frame.luma, side, side) - numbers.luma_zero) / np.float32(numbers.luma_span)
        return self._display.light(signal) * np.float32(self._display.peak)

    def take(self, number: int, light: Grid, matrix: str | None = None) -> None:
        """Take the light of frame `number` over a grid (3, rows, columns), linear, 1 at white."""
        self._pass_over(number - self._next)
        self._next = number + 1
        level = luminance(light, matrix)
        for kind in self._general:
            kind.take(number, level)
        red, green, blue = light
        value = 320 * np.maximum(red - green - blue, 0)
        self._red.take(number, value, (value > 0) & (red >= RED_SHARE * (red + green + blue)))

    def _pass_over(self, frames: int) -> None:
        """Pass over frames that nobody saw: of more than a second nothing is left to be counted."""
        for kind in (*self._general, self._red) if frames > 0 else ():
            if frames >= self._rate:
                kind.forget()
            for _ in range(frames if frames < self._rate else 0):
                kind.skip()

    def take_stripes(self, number: int, luminance: Grid) -> None:
        """Take the luminance (rows, columns) of frame `number` in cd/m2, in which stripes are looked for."""
        self._stretches.take(number, stripes_of(luminance))

    def found(self, names: Names) -> Iterable[Finding]:
        """Return what flashes, a finding for each stretch of frames."""
        yield from self._of_kinds(self._general, names, ("flashes", "flash"), self._form.source)
        yield from self._of_kinds([self._red], names, ("red flashes", "flash in red"), RED_SOURCE)
        for found in self._stretches.found():
            does = ", which reverse, turn back or come and go" if found.turns > 1 else ""
            text = (
                f"have more than five pairs of regular stripes over {_share(found)}{does}; {STRIPES_ADVICE}"
            )
            weight = "fault" if found.is_fault else "caution"
            yield self._finding("stripes", found, names, text, STRIPES_SOURCE, weight=weight)

    def _of_kinds(
        self, kinds: list[_Kind], names: Names, words: tuple[str, str], source: str
    ) -> Iterator[Finding]:
        faults = merged(found for kind in kinds for tally in kind.tallies for found in tally.found())
        for found in faults:
            long = ", for longer than five seconds" if found.seconds(self._rate) > RUN else ""
            text = f"{words[1]} {found.rate:g} times in a second over {_share(found)}{long}; {ADVICE}"
            yield self._finding(words[0], found, names, text, source)
        for run in kinds[0].runs.found():
            if not any(run.meets(fault) for fault in faults):
                text = (
                    f"{words[1]} over {_share(run)} for {float(run.seconds(self._rate)):.1f} s; {RUN_ADVICE}"
                )
                yield self._finding(f"run of {words[0]}", run, names, text, source, weight="caution")

    def _finding(
        self, word: str, found: Flashing | Stretch, names: Names, text: str, source: str, **more: Any
    ) -> Finding:
        return names.finding(word, found.first, found.stop, text, rule=self._form.rule, source=source, **more)

    def said(self) -> Iterable[str]:
        """Return what was assumed, and how far the check goes."""
        form, screen = self._form, self._display.words
        yield f"Flashes are judged by {form.rule} ({form.source}) as a screen shows them with {screen}."
        if not any(True for _ in self.found(Names(None))):
            yield "No flashes and no stripes beyond it were found."
        yield CAUTION


HARM: Final = "this may harm people with photosensitive epilepsy"
ADVICE: Final = f"{HARM}, so ease or shorten it"
STRIPES_ADVICE: Final = f"{HARM}, so blur, darken or shorten them"
RUN_ADVICE: Final = "it keeps to the rate, but a run of more than five seconds may harm all the same"


def _share(found: Flashing | Stretch) -> str:
    return f"{100 * found.area:.3g} % of the picture"
