"""What a hand does with marks at the desk, set, taken out and gone to, and with a cue that is set twice."""

from __future__ import annotations

from lamphouse.graph.edits.cues import copy_cue, cue_at
from lamphouse.graph.edits.marks import remove_mark, set_mark, with_head_mark
from lamphouse.graph.reel.records import MarkKind
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.marks import head_mark, next_mark, previous_mark


def mark_here(desk: Desk, kind: MarkKind = "place") -> None:
    """Put a mark at the playhead; one of its kind that begins there stays as it is."""
    desk.edit(lambda reel: set_mark(reel, desk.frame, kind))


def mark_soft(desk: Desk) -> None:
    """Mark the shot at the playhead, from its cue to the next, as soft; one so marked stays as it is."""
    desk.edit(lambda reel: set_mark(reel, desk.frame, "soft"))


def unmark(desk: Desk) -> None:
    """Take out the marks that begin at the playhead, else those that reach over it."""
    desk.edit(lambda reel: remove_mark(reel, desk.frame))


def zero_here(desk: Desk) -> None:
    """Set the head mark at the playhead: the counters read zero here."""
    desk.edit(lambda reel: with_head_mark(reel, desk.frame))


def go_to_mark(desk: Desk, way: int, now: int) -> None:
    """Go to the mark after (1) or before (-1) the playhead."""
    found = (next_mark if way > 0 else previous_mark)(desk.reel, desk.transport.due(now).frame)
    if found is not None:
        desk.go_to(found, now)


def go_to_head(desk: Desk, now: int) -> None:
    """Go to the frame at which the counters read zero."""
    try:
        desk.go_to(head_mark(desk.reel), now)
    except BadInput as error:
        desk.message = str(error)


def copy_here(desk: Desk, frame: int, to: int) -> None:
    """Put a copy of the cue at `frame` at another place; its transition is as long as there is room."""
    cue = cue_at(desk.reel, frame)
    if cue is None:
        return
    desk.edit(lambda reel: copy_cue(reel, frame, to, desk.controls))
    copy = cue_at(desk.reel, to)
    if copy is not None and copy.length < cue.length and not desk.message:
        desk.message = f"The copy has {copy.length} of {cue.length} frames of transition: there is no room."
