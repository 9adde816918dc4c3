"""The frames in which a shot is seen alone: without what it blends into, or out of."""

from __future__ import annotations

from lamphouse.graph.survey.look import Look, Shot


def alone(look: Look, shot: Shot) -> slice:
    """Return the frames of a shot without dissolves and fades; all of them where nothing else is left."""
    first, stop = shot.first, shot.stop
    for change in look.changes:
        begun = change.frame - change.frames
        if change.what == "fade in" and begun <= first < change.frame:
            first = change.frame
        elif change.frames and first < begun < stop <= change.frame:
            stop = begun
    return slice(first, stop) if first < stop else slice(shot.first, shot.stop)
