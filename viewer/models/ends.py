"""In and out: the stretch of the reel that a pass or an insert is to make, marked by hand and not saved."""

from __future__ import annotations

from lamphouse.viewer.models.desk import Desk


def mark_in(desk: Desk) -> None:
    """Let the stretch begin with the frame at the playhead; where it does, no longer."""
    desk.marked_in = None if desk.marked_in == desk.frame else desk.frame
    if desk.marked_in is not None and desk.marked_out is not None and desk.marked_out < desk.marked_in:
        desk.marked_out = None


def mark_out(desk: Desk) -> None:
    """Let the stretch end with the frame at the playhead, which is in it; where it does, no longer."""
    desk.marked_out = None if desk.marked_out == desk.frame else desk.frame
    if desk.marked_in is not None and desk.marked_out is not None and desk.marked_out < desk.marked_in:
        desk.marked_in = None


def marked_frames(desk: Desk) -> range | None:
    """Return the frames of the marked stretch; None where neither end is marked.

    An end that is not marked is that of the reel.
    """
    if desk.marked_in is None and desk.marked_out is None:
        return None
    last = desk.reel.scan.frames - 1 if desk.marked_out is None else desk.marked_out
    return range(desk.marked_in or 0, last + 1)
