"""What the picture is compared with, by what the desk holds, and what the other canvas has to show for it.

Pure, as `decide` is. What has to be drawn is a grade, or a picture as it is; a picture equals itself alone.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from lamphouse.graph.edits.cues import cue_at
from lamphouse.graph.media.codes.framing import framing_of
from lamphouse.graph.reel.records import ChainRef
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.values import Settings
from lamphouse.viewer.models.comparison import COPIED, GRADED, MASTER, STILL, UNTAKEN
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.seen import FULL, OtherPicture
from lamphouse.viewer.turn.decide import Drawing
from lamphouse.viewer.turn.wishes import Wish

NOTHING: Final = OtherPicture()
Shown = Drawing | OtherPicture


@dataclass(frozen=True, slots=True)
class Compared:
    """What the picture is compared with: one of the comparison's kinds; "" where nobody looks."""

    kind: str
    chain: ChainRef
    settings: Settings | None = None  # None: as scanned
    still: OtherPicture | None = None
    master: Path | None = None
    lacks: str = ""  # why there is nothing
    is_read: bool = False  # whether the pointer asks for its values


@dataclass(frozen=True, slots=True, eq=False)
class MasterFrame:
    """What a master's reader brought: its picture of a frame of the reel, or why there is none."""

    master: Path
    other: OtherPicture | None = None
    reason: str = ""


@dataclass(frozen=True, slots=True)
class OtherCanvas:
    """What one turn leaves to the next: what is on the canvas, what panels see of it, or why nothing."""

    came: MasterFrame | None = None  # the newest of a master
    shown: Shown | None = None
    seen: OtherPicture = NOTHING
    lacks: str = ""


def compared_with(desk: Desk, panels: Panels) -> Compared:
    """Return what the picture is compared with now, or why there is none."""
    comparison, chain = desk.comparison, desk.reel.chain
    kind = "" if comparison.way == GRADED else comparison.kind
    settings, lacks = None, ""
    try:
        settings = compared_settings(desk)
    except BadInput as error:
        lacks = str(error)
    is_read = panels.picture.is_on_other
    return Compared(kind, chain, settings, panels.still, comparison.master, lacks, is_read)


def compared_settings(desk: Desk) -> Settings | None:
    """Return the settings that the picture is compared with: of a copied cue, of the reel as it is, or None.

    None is for the scan. Raises BadInput where that cue is gone.
    """
    if desk.comparison.kind == UNTAKEN:
        return desk.settings
    if desk.comparison.kind != COPIED:
        return None
    frame = desk.comparison.copied
    copied = cue_at(desk.reel, frame) if frame is not None else None
    if copied is None:
        raise BadInput("The cue that was copied is not there any more; copy one again.")
    return desk.cues.held(desk.cues.holding(copied.frame))


def asked_of_master(compared: Compared, wish: Wish | None) -> tuple[Path | None, Wish | None]:
    """Return the master to be read, and its frame, at the coarsest of the scan's rasters while it moves."""
    if compared.kind != MASTER or wish is None:
        return None, None
    return compared.master, Wish(wish.frame, (min(wish.divides),))


def follows(canvas: OtherCanvas, compared: Compared, drawing: Drawing) -> tuple[OtherCanvas, Shown | None]:
    """Return the canvas as it is once what stands beside it has been drawn; None: nothing has to be."""
    if not compared.kind:
        return canvas, None
    shown, lacks = _wanted(canvas, compared, drawing)
    if shown is None:
        return OtherCanvas(canvas.came, lacks=lacks), None
    if shown == canvas.shown:
        return canvas, None
    seen = shown if isinstance(shown, OtherPicture) else _graded(shown)
    return OtherCanvas(canvas.came, shown, seen), shown


def _graded(drawing: Drawing) -> OtherPicture:
    """Return what panels see of a grade; the bare scan lies where the picture does."""
    framing = None if drawing.settings is None else framing_of(drawing.settings)
    return OtherPicture(part=FULL, framing=framing)


def is_to_be_read(canvas: OtherCanvas, compared: Compared) -> bool:
    """Say whether the pointer asks for values of the canvas that nobody has read back yet."""
    seen = canvas.seen
    return bool(compared.kind) and compared.is_read and seen.part is not None and seen.picture is None


def _wanted(canvas: OtherCanvas, compared: Compared, drawing: Drawing) -> tuple[Shown | None, str]:
    """Return what is to be shown, or why there is nothing."""
    if compared.kind == MASTER:
        return _of_master(canvas.came, compared.master)
    if compared.lacks:
        return None, compared.lacks
    if compared.kind == STILL and compared.still is not None:
        return compared.still, ""
    return replace(drawing, settings=compared.settings), ""


def _of_master(came: MasterFrame | None, master: Path | None) -> tuple[Shown | None, str]:
    if master is None:
        return None, "No master has been chosen yet."
    if came is None or came.master != master:
        return None, f"{master.name} is being opened."
    return came.other, came.reason
