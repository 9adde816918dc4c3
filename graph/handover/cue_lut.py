"""One cue as a LUT or a CDL, and what exactness that costs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import msgspec

from lamphouse.nodes.colour_encoding import WORKING
from lamphouse.nodes.errors import BadInput, clause
from lamphouse.nodes.framing import FRAMING

if TYPE_CHECKING:
    from lamphouse.graph.grade.grade import Grade
    from lamphouse.graph.reel.records import Cue, Reel
    from lamphouse.graph.reel_files.opened import OpenedReel
    from lamphouse.nodes.luts.clf.process_node import ProcessNode


@dataclass(frozen=True, slots=True)
class Left:
    """What was written: a sentence on it, and those that a person should know beside it."""

    sentence: str
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Wanted:
    """What is to be written: which cue of which reel, where, and how fine a table may be."""

    opened: OpenedReel
    cue: Cue
    grade: Grade
    output: Path
    points: int | None
    fit: bool

    @property
    def title(self) -> str:
        colour = self.opened.reel.scan.colour
        of_codes = "" if colour == WORKING else f", from {colour.words} to {WORKING.words}"
        return f"{self.opened.file.stem} {self.cue.name or self.cue.frame}{of_codes}"


FRAMING_STAYS: Final = "A LUT holds colours alone; the framing of this cue is not in it."
TRACKS_STAY: Final = (
    "A LUT holds one setting; what a track moves from frame to frame under this cue is not in it."
)


def check_lut(output: Path, points: int | None = None, *, fit: bool = False) -> None:
    """Raise BadInput for a name that no LUT or CDL has, or options that do not go with it."""
    from lamphouse.graph.handover.cube import SIZES

    write = WRITERS.get(output.suffix.lower())
    if write is None:
        raise BadInput(f"{output}: a cue is written as {', '.join(WRITERS)}; give such a name.")
    if fit and write is not _cdl:
        raise BadInput(f"--fit is for a CDL, and {output} is another kind of file; leave it out.")
    if points not in (None, *SIZES):
        raise BadInput(f"--points {points} is not a size that a table can have; give 17, 33 or 65.")


def write_lut(
    opened: OpenedReel, cue: Cue, output: Path, points: int | None = None, *, fit: bool = False
) -> Left:
    """Write `cue` as what the ending of `output` says, a table with `points` along each axis.

    What tracks move is left out. With `fit` a CDL is the nearest where none is exact. Raises BadInput for
    what cannot be carried so, and where `output` is a file of the reel.
    """
    from lamphouse.graph.grade.grade import Grade
    from lamphouse.graph.handover.cue_cdl import refuse_places
    from lamphouse.graph.media.codes.framing import NEUTRAL
    from lamphouse.graph.reel_files.named import refuse_over

    moves = _is_moved(opened.reel, cue)
    opened = opened.with_reel(msgspec.structs.replace(opened.reel, tracks=()))
    check_lut(output, points, fit=fit)
    refuse_over(opened, output)
    opened.refuse_missing()
    with Grade(opened) as grade:
        refuse_places(grade, cue)
        is_framed = grade.framing(cue.frame) != NEUTRAL
        write = WRITERS[output.suffix.lower()]
        sentence = write(_Wanted(opened, cue, grade, output, points, fit))
    return Left(sentence, (FRAMING_STAYS,) * is_framed + (TRACKS_STAY,) * moves)


def _is_moved(reel: Reel, cue: Cue) -> bool:
    """Say whether a track moves colours of a frame that `cue` holds."""
    from lamphouse.graph.edits.cues import next_cue, node_of

    after = next_cue(reel, cue.frame)
    stop = reel.scan.frames if after is None else after
    moving = [track for track in reel.tracks if track.is_on and node_of(track.parameter) != FRAMING]
    return any(track.frame < stop and cue.frame < track.stop for track in moving)


def _cube(wanted: _Wanted) -> str:
    from lamphouse.graph.handover.cube import bake, write_cube
    from lamphouse.nodes.maths import lattice

    points = wanted.points or 33
    cube = bake(lambda colours: wanted.grade.correct(wanted.cue.frame, colours), points)
    write_cube(wanted.output, cube, wanted.title)
    return (
        f"{wanted.output}: {points} points; largest error {cube.largest:.6f}, mean {cube.mean:.6f} of "
        f"reference white, over {cube.measured} colours, read by tetrahedra"
        f"{_on_the_reel(wanted, cube.table, lattice)}."
    )


def _clf(wanted: _Wanted) -> str:
    from lamphouse.graph.handover.clf import write_clf
    from lamphouse.graph.handover.to_process_list import to_process_list

    program = wanted.grade.program(wanted.cue.frame)
    made = to_process_list(program, wanted.title, wanted.points or 65)
    write_clf(wanted.output, made)
    exact = f"all exact but {_counted(made.inexact)}" if made.inexact else "all exact"
    return (
        f"{wanted.output}: {_counted(made.nodes) or 'the scan as it is'}, {exact}; largest error "
        f"{made.largest:.2g}, mean {made.mean:.2g} of reference white, over {made.measured} codes from 0 to 1"
        f"{_on_the_reel(wanted, made, lambda pixels, made: made.apply(pixels))}."
    )


def _cdl(wanted: _Wanted) -> str:
    from lamphouse.graph.handover.cdl_file import cue_id, write_cdl
    from lamphouse.graph.handover.cue_cdl import cue_cdl

    found = cue_cdl(wanted.opened, wanted.grade, wanted.cue, fit=wanted.fit)
    media = Path(wanted.opened.reel.scan.path).name
    sentences = [f"{wanted.title}: {found.exactness}."]
    write_cdl(wanted.output, found.cdl, cue_id(wanted.cue), sentences, media)
    return f"{wanted.output}: {found.exactness}."


def _counted(nodes: tuple[ProcessNode, ...]) -> str:
    kinds = Counter(node.ELEMENT for node in nodes)
    return ", ".join(f"{count} {name}" for name, count in kinds.items())


def _on_the_reel(wanted: _Wanted, made: Any, read: Callable[[Any, Any], Any]) -> str:
    """Return the error over the cue's own pixels as the end of a sentence, or why it is not known."""
    import numpy as np

    from lamphouse.graph.handover.reel_pixels import reel_pixels

    try:
        pixels = reel_pixels(wanted.opened, wanted.cue)
    except BadInput as error:
        return f"; the reel's own pixels could not be tried: {clause(error)}"
    meant = wanted.grade.correct(wanted.cue.frame, pixels)
    errors = np.abs(read(pixels, made) - meant).max(axis=0)
    return (
        f"; over {pixels.shape[1]} pixels of the reel itself, largest {errors.max():.2g}, "
        f"mean {errors.mean(dtype=np.float64):.2g}"
    )


# What each ending stands for: a function that writes the file and returns the line that is printed.
WRITERS: Final[dict[str, Callable[[_Wanted], str]]] = {
    ".clf": _clf,
    ".cube": _cube,
    ".cdl": _cdl,
    ".cc": _cdl,
    ".ccc": _cdl,
}
