"""A cue as a CDL, exact or the nearest one, with words for which it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from lamphouse.graph.handover.cdl import exact_cdl
from lamphouse.nodes.errors import BadInput

if TYPE_CHECKING:
    from lamphouse.graph.grade.grade import Grade
    from lamphouse.graph.reel.records import Cue
    from lamphouse.graph.reel_files.opened import OpenedReel
    from lamphouse.nodes.cdl import Cdl


@dataclass(frozen=True, slots=True)
class CueCdl:
    """A CDL, and how exact it is, as the end of a sentence."""

    cdl: Cdl
    exactness: str


def cue_cdl(opened: OpenedReel, grade: Grade, cue: Cue, *, fit: bool = False) -> CueCdl:
    """Return the CDL that `cue` is, or with `fit` the nearest over the reel's own pixels.

    Raises BadInput with the reason where it is none, and where pixels are needed and cannot be read.
    """
    refuse_places(grade, cue)
    if fit:
        return _nearest(opened, grade, cue)
    cdl = exact_cdl(grade.program(cue.frame), opened, grade.cues.at(cue.frame))
    unless = "" if cdl.clamp == "yes" else " for all that slope and offset leave at zero or above"
    return CueCdl(cdl, f"exact{unless}")


def refuse_places(grade: Grade, cue: Cue) -> None:
    """Raise BadInput where what `cue` does to a pixel depends on where that lies."""
    if beyond := grade.beyond_point(cue.frame):
        raise BadInput(f"The node {beyond[0]} depends on the place in the picture; no LUT can carry it.")


def _nearest(opened: OpenedReel, grade: Grade, cue: Cue) -> CueCdl:
    from lamphouse.graph.handover.cdl_fit import fit_cdl
    from lamphouse.graph.handover.reel_pixels import reel_pixels

    pixels = reel_pixels(opened, cue)
    found = fit_cdl(pixels, grade.correct(cue.frame, pixels))
    return CueCdl(
        found.cdl,
        f"the nearest CDL; CIEDE2000 mean {found.mean:.2f}, 95th percentile {found.most:.2f}, "
        f"largest {found.largest:.2f}, over {found.pixels} pixels of the reel itself",
    )
