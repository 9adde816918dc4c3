"""What the picture is compared with, by what the desk holds."""

from __future__ import annotations

from lamphouse.graph.edits.cues import cue_at
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.values import Settings
from lamphouse.viewer.models.comparison import COPIED, GRADED
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.turn.display import Compared


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
    """Return the settings that the picture is compared with: those of the copied cue, or None for the scan.

    Raises BadInput where that cue is gone.
    """
    if desk.comparison.kind != COPIED:
        return None
    frame = desk.comparison.copied
    copied = cue_at(desk.reel, frame) if frame is not None else None
    if copied is None:
        raise BadInput("The cue that was copied is not there any more; copy one again.")
    return desk.cues.held(desk.cues.holding(copied.frame))
