"""Undo and redo go to where they did something: what comes back unseen is as good as lost."""

from __future__ import annotations

from collections.abc import Callable

from lamphouse.graph.reel.records import Cue, Reel, Track
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels


def undo(desk: Desk, panels: Panels, now: int) -> None:
    """Go back a step, and to its place."""
    _follow(desk, panels, now, desk.undo)


def redo(desk: Desk, panels: Panels, now: int) -> None:
    """Go forward a step again, and to its place."""
    _follow(desk, panels, now, desk.redo)


def changed_place(before: Reel, after: Reel, frame: int) -> int | None:
    """Return where to look at what differs between two reels, or None where that is `frame` or no place.

    A change of a cue is seen from the beginning of its transition to the next cue.
    """
    changed = _changed_cues(before, after)
    if any(start <= frame < stop for start, stop in map(_seen_in(after), changed)):
        return None
    tracks = _changed_tracks(before, after)
    if any(track.frame <= frame < track.stop for track in tracks):
        return None
    places = [*changed, *_changed_marks(before, after), *(track.frame for track in tracks)]
    return None if not places or frame in places else places[0]


def scrolled(span: tuple[float, float], frame: int, frames: int) -> tuple[float, float]:
    """Return the span of a strip, moved as little as it takes to hold `frame` well within its edges."""
    start, stop = span
    edge = (stop - start) / 10
    by = min(0.0, frame - edge - start) + max(0.0, frame + edge - stop)
    by = min(max(by, -start), frames - stop)
    return start + by, stop + by


def _follow(desk: Desk, panels: Panels, now: int, step: Callable[[], None]) -> None:
    before = desk.reel
    step()
    place = changed_place(before, desk.reel, desk.frame)
    if place is not None:
        desk.go_to(place, now)
        panels.strip.span = scrolled(panels.strip.span, place, desk.reel.scan.frames)


def _changed_cues(before: Reel, after: Reel) -> list[int]:
    """Return the frames of cues that are not as they were: where they are now, else where they were."""
    old, new = ({cue.frame: cue for cue in reel.cues} for reel in (before, after))
    now = [frame for frame, cue in new.items() if old.get(frame) != cue]
    return now or [frame for frame in old if frame not in new]


def _changed_marks(before: Reel, after: Reel) -> list[int]:
    old, new = ({(mark.frame, mark.kind): mark for mark in reel.marks} for reel in (before, after))
    now = [key[0] for key, mark in new.items() if old.get(key) != mark]
    marks = now or [key[0] for key in old if key not in new]
    return marks if before.head_mark == after.head_mark else [after.head_mark, *marks]


def _changed_tracks(before: Reel, after: Reel) -> list[Track]:
    """Return the tracks that are not as they were, or where some are only gone, these."""
    return [t for t in after.tracks if t not in before.tracks] or [
        t for t in before.tracks if t not in after.tracks
    ]


def _seen_in(reel: Reel) -> Callable[[int], tuple[int, int]]:
    """Return a function from the frame of a cue to the frames that depend on it."""
    from bisect import bisect_right

    frames = [cue.frame for cue in reel.cues]

    def seen(frame: int) -> tuple[int, int]:
        after = bisect_right(frames, frame)
        cue: Cue | None = reel.cues[after - 1] if after and frames[after - 1] == frame else None
        stop = frames[after] if after < len(frames) else reel.scan.frames
        return frame - (cue.length if cue else 0), stop

    return seen
