"""The frames in which a shot is seen alone: without what it blends into, or out of."""

from __future__ import annotations

from bisect import bisect_left, bisect_right

from lamphouse.graph.survey.look import Change, Look, Shot


def alone(look: Look, shot: Shot) -> slice:
    """Return the frames of a shot without dissolves and fades; all of them where nothing else is left."""
    first, stop = shot.first, shot.stop
    for change in _about(look, shot):
        begun = change.frame - change.frames
        if change.what == "fade in" and begun <= first < change.frame:
            first = change.frame
        elif change.frames and first < begun < stop <= change.frame:
            stop = begun
    return slice(first, stop) if first < stop else slice(shot.first, shot.stop)


def _about(look: Look, shot: Shot) -> tuple[Change, ...]:
    """Return the changes that end within a shot, and the next after it: no other can lie in it."""
    after = bisect_right(look.changes, shot.first, key=_frame)
    return look.changes[after : bisect_left(look.changes, shot.stop, key=_frame) + 1]


def _frame(change: Change) -> int:
    return change.frame
