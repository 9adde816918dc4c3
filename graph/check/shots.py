"""The shots of a master: by its cues where there is a record, else all of it is one."""

from __future__ import annotations

from dataclasses import dataclass

from lamphouse.graph.reel.records import Cue
from lamphouse.graph.reel.span import Span
from lamphouse.nodes.one_line import one_line


@dataclass(frozen=True, slots=True)
class Shot:
    """Frames [first, stop) of a master, and what a sentence calls them; `index` is its place among all."""

    index: int
    first: int
    stop: int
    words: str


class Shots:
    """Which shot a frame is of: None for bars, black and what else is no film."""

    def __init__(self, span: Span | None) -> None:
        self._span = span
        self._last: Shot | None = None

    def of(self, number: int) -> Shot | None:
        """Return the shot of frame `number` of the master."""
        span = self._span
        if span is None:
            return _ALL
        if self._last is not None and self._last.first <= number < self._last.stop:
            return self._last  # as of nearly every frame that comes
        if span.frame(number) is None:
            return None
        self._last = _of(span, number)
        return self._last


_ALL = Shot(0, 0, 1 << 40, "The master")


def _of(span: Span, number: int) -> Shot:
    cue = span.cue(number)
    starts = [other.frame for other in span.reel.cues]
    index = -1 if cue is None else starts.index(cue.frame)
    first = span.film.start if cue is None else max(span.number(cue.frame), span.film.start)
    later = [frame for frame in starts[index + 1 :] if frame < span.stop]
    stop = span.number(later[0]) if later else span.film.stop
    return Shot(index, first, max(stop, number + 1), _words(cue))


def _words(cue: Cue | None) -> str:
    if cue is None:
        return "What stands before the first cue"
    return f"The shot {one_line(cue.name)}" if cue.name else f"The shot from frame {cue.frame}"
