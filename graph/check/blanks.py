"""Bars and black: at the head and the tail, where a record says so, and where nobody expects them."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import Final

from lamphouse.graph.check.findings import Finding, Names, Weight
from lamphouse.graph.check.generated import Generated, generated
from lamphouse.graph.check.subject import Subject
from lamphouse.graph.check.watches import Seen
from lamphouse.graph.reel.span import Span

EXPECTED: Final = ("bars", "black")  # of what stands before and after film, by `Span.section`
WORDS: Final = {"bars": "colour bars", "black": "black", "": "a picture"}


class Blanks:
    """A watch for bars and black: `span` says where they belong, None that nobody knows."""

    def __init__(self, span: Span | None) -> None:
        self._span = span
        self._shown: dict[int, Generated] = {}

    @classmethod
    def of(cls, subject: Subject) -> Blanks:
        """Return the watch that is wanted of `subject`."""
        return cls(subject.span)

    def see(self, number: int, frame: Seen) -> None:
        """Take note of what a frame shows."""
        self._shown[number] = generated(frame.small)

    def found(self, names: Names) -> Iterator[Finding]:
        """Yield where bars or black stand and do not belong, and where they belong and are not."""
        frames, last = sorted(self._shown), max(self._shown, default=0)
        for (expected, shown), group in groupby(frames, lambda n: (self._expected(n), self._shown[n])):
            run = list(group)
            if expected == shown or (expected is None and not shown):
                continue
            first, stop = run[0], run[-1] + 1
            yield _finding(names, (first, stop), expected, shown, is_end=first == 0 or stop > last)

    def _expected(self, number: int) -> str | None:
        """Return what a frame has to show: bars, black, nothing of both; None where anything may stand."""
        section = self._span.section(number) if self._span and number < self._span.frames else "unknown"
        return section if section in EXPECTED else "" if section == "film" else None

    def said(self) -> Iterator[str]:
        """Yield how much of what was expected is there."""
        counts = {
            section: sum(self._expected(n) == section == shown for n, shown in self._shown.items())
            for section in EXPECTED
        }
        kept = [f"{count} frames of {section}" for section, count in counts.items() if count]
        if kept:
            yield f"{' and '.join(kept)} stand where the delivery has them."


def _finding(
    names: Names, frames: tuple[int, int], expected: str | None, shown: Generated, *, is_end: bool
) -> Finding:
    verb = "shows" if frames[1] - frames[0] == 1 else "show"
    if expected:
        predicate = f"{verb} {WORDS[shown]}, where the delivery has {WORDS[expected]}"
        return names.finding("blank", *frames, predicate, rule="the delivery")
    weight: Weight = "note" if expected is None and (is_end or shown == "bars") else "caution"
    inside = "" if weight == "note" else ", within the film" if expected == "" else ", between pictures"
    return names.finding(shown, *frames, f"{verb} {WORDS[shown]}{inside}", weight=weight)
