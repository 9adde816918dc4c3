"""What the picture is held against, by what the desk holds."""

from __future__ import annotations

from lamphouse.graph.edits.cues import cue_at
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.values import Settings
from lamphouse.viewer.models.comparison import COPIED, GRADED
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.turn.display import Against


def against_of(desk: Desk, panels: Panels) -> Against:
    """Return what the picture is held against now, or why there is none."""
    comparison, chain = desk.comparison, desk.reel.chain
    kind = "" if comparison.way == GRADED else comparison.against
    settings, lacks = None, ""
    try:
        settings = compared(desk)
    except BadInput as error:
        lacks = str(error)
    is_read = panels.picture.is_on_other
    return Against(kind, chain, settings, panels.still, comparison.master, lacks, is_read)


def compared(desk: Desk) -> Settings | None:
    """Return the settings that the picture is held against: those of the copied cue, or None for the scan.

    Raises BadInput where that cue is gone.
    """
    if desk.comparison.against != COPIED:
        return None
    frame = desk.comparison.copied
    copied = cue_at(desk.reel, frame) if frame is not None else None
    if copied is None:
        raise BadInput("The cue that was copied is not there any more; copy one again.")
    return desk.cues.held(desk.cues.holding(copied.frame))
