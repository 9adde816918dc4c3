"""The shots of a master as any list has them: what each cue holds, in the reel and in the master."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from itertools import pairwise

import msgspec

from lamphouse.graph.edits.cues import cue_holding
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.handover.cdl import NotExact
from lamphouse.graph.handover.cue_cdl import CueCdl, cue_cdl
from lamphouse.graph.reel.records import Cue, Mark, Reel
from lamphouse.graph.reel.span import Span
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.errors import BadInput, clause


@dataclass(frozen=True, slots=True)
class Shot:
    """A stretch that one cue holds, half-open: of the reel, and of the master, which may show none of it.

    `cue` is None before the first, and `number` then 0. `cdl` is what its settings are, or, as a clause, why
    they are none. `transition` counts the frames of the reel, up to its first, over which the settings before
    pass into its own.
    """

    source: range
    record: range
    cue: Cue | None
    number: int
    cdl: CueCdl | str
    transition: int


def shots_of(opened: OpenedReel, span: Span, *, fit: bool = False) -> tuple[Shot, ...]:
    """Return the shots of a master, in order and without a gap, by the cues that `span` was made with.

    With `fit` a cue that is no CDL has the nearest one over the reel's own pixels. Raises BadInput for a reel
    whose cues cannot be.
    """
    reel = span.reel
    numbers = {cue.frame: number for number, cue in enumerate(reel.cues, 1)}
    inside = [cue for cue in reel.cues if span.first < cue.frame < span.stop]
    cues = [cue_holding(reel, span.first), *inside]
    edges = [span.first, *(cue.frame for cue in inside), span.stop]
    starts = [*(span.number(edge) for edge in edges[:-1]), span.film.stop]
    cdls = _cdls(opened.with_reel(reel), [cue for cue in cues if cue], fit=fit)
    return tuple(
        Shot(
            source=range(*source),
            record=range(*record),
            cue=cue,
            number=numbers[cue.frame] if cue else 0,
            cdl=cdls[cue.frame] if cue else "no cue holds here",
            transition=min(cue.length, cue.frame - span.first) if cue and cue.frame > span.first else 0,
        )
        for source, record, cue in zip(pairwise(edges), pairwise(starts), cues, strict=True)
    )


def marks_in(reel: Reel, frames: range) -> tuple[Mark, ...]:
    """Return the marks of `reel`, which are in order, that begin in `frames`."""
    ends = (frames.start, frames.stop)
    first, stop = (bisect_left(reel.marks, at, key=lambda mark: mark.frame) for at in ends)
    return reel.marks[first:stop]


def _cdls(opened: OpenedReel, cues: list[Cue], *, fit: bool) -> dict[int, CueCdl | str]:
    """Return the CDL of each cue by its frame, or why there is none."""
    still = opened.with_reel(msgspec.structs.replace(opened.reel, tracks=()))  # a CDL holds one setting
    with Grade(still, threads=1) as grade:
        return {cue.frame: _cdl(still, grade, cue, fit=fit) for cue in cues}


def _cdl(opened: OpenedReel, grade: Grade, cue: Cue, *, fit: bool) -> CueCdl | str:
    try:
        opened.refuse_missing()
        try:
            return cue_cdl(opened, grade, cue)
        except NotExact as error:
            return cue_cdl(opened, grade, cue, fit=True) if fit else error.reason
    except BadInput as error:
        return clause(error)
