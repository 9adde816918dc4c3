"""What a pass cuts off at either end, cue by cue: detail that was there and is in no master."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import prod
from typing import Final

from lamphouse.graph.media.codes.raster import raster_of
from lamphouse.graph.reel.records import Cue
from lamphouse.graph.reel.span import Span
from lamphouse.nodes.one_line import one_line

TOLD: Final = 10  # cues, those that lose most; how many others there are is said
LEAST: Final = 0.001  # of a frame: less is a ring at an edge or a glint, and the record has it


@dataclass(slots=True)
class _Sum:
    """A cue's frames, how many of their pixels are cut, and the frame of the scan that loses most."""

    name: str
    frames: int = 0
    below: int = 0
    above: int = 0
    worst: int = 0
    frame: int = 0

    @property
    def mean(self) -> float:
        """Pixels a frame."""
        return (self.below + self.above) / self.frames


def cut_sentences(span: Span, cuts: Iterable[tuple[int, tuple[int, int]]]) -> tuple[str, ...]:
    """Return a sentence for each cue of which something is cut, of those that lose most.

    A cue of which no frame loses a thousandth is not told of.
    `cuts` are numbers of frames of the master that `span` describes, and the pixels cut below and above.
    """
    scan = span.reel.scan
    pixels = prod(raster_of(span.delivery, scan.width, scan.height))
    sums = [found for found in _by_cue(span, cuts) if found.worst >= LEAST * pixels]
    least = sorted((found.mean for found in sums), reverse=True)[:TOLD][-1:]
    told = [found for found in sums if [found.mean] >= least]
    more = len(sums) - len(told)
    rest = [f"Further cues that are cut at an end, each less than these: {more}."] if more else []
    return *(_sentence(found, pixels) for found in told), *rest


def _by_cue(span: Span, cuts: Iterable[tuple[int, tuple[int, int]]]) -> Iterable[_Sum]:
    sums: dict[int, _Sum] = {}
    for number, (below, above) in cuts:
        if not (shown := span.shown(number)):
            continue  # bars and black
        cue = span.cue(number)
        found = sums.setdefault(cue.frame if cue else -1, _Sum(_name(cue)))
        found.frames += 1
        found.below += below
        found.above += above
        if below + above > found.worst:
            found.worst, found.frame = below + above, shown[0]
    return sums.values()


def _name(cue: Cue | None) -> str:
    if cue is None:
        return "Before the first cue"
    return f"Cue {one_line(cue.name) or f'at frame {cue.frame}'}"


def _sentence(found: _Sum, pixels: int) -> str:
    ends = [
        (_share(count / pixels / found.frames), end)
        for count, end in ((found.above, "at the top"), (found.below, "at the bottom"))
        if count
    ]
    (share, end), *rest = ends
    both = " and ".join([f"{share} of its pixels are cut {end}", *map(" ".join, rest)])
    return f"{found.name}: {both}, most in frame {found.frame}."


def _share(share: float) -> str:
    return f"{100 * share:.1f} %" if share >= LEAST else "less than 0.1 %"
