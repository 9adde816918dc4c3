"""What a work has found in a master, and the frames of the reel to look at for it. It knows no window."""

from __future__ import annotations

from lamphouse.graph.reel.span import Span
from lamphouse.viewer.jobs.orders import Transfer
from lamphouse.viewer.jobs.said import Line
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.recording import Job, Recording


def lists_what_it_finds(job: Job | None) -> bool:
    """Say whether a work is one that looks at a finished master."""
    return job is not None and job.what in ("proof", "check")


def places(job: Job | None) -> list[Line]:
    """Return what needs eyes of that which was found, each with the frame of the master to look at."""
    ended = job.ended if job is not None else None
    if ended is None:
        return []
    if ended.outcome is None:
        return [] if ended.number is None else [Line(ended.sentence, ended.number, "fault")]
    return [line for line in ended.outcome.lines if line.number is not None and line.weight != "note"]


def last_place(recording: Recording) -> Line | None:
    """Return that of the places which has been gone to last."""
    found = places(recording.job)
    return found[(recording.place - 1) % len(found)] if found and recording.place else None


def go_to_next(desk: Desk, recording: Recording, now: int) -> None:
    """Go to the frame of the reel that the next of the places is about; after the last, the first."""
    if found := places(recording.job):
        go_to(desk, recording, found[recording.place % len(found)], now)
    else:
        desk.troubles.say("Nothing was found that has to be looked at.")


def go_to(desk: Desk, recording: Recording, line: Line, now: int) -> bool:
    """Go to the frame of the reel that something found is about, and say what; say whether there is one."""
    found = places(recording.job)
    recording.place = found.index(line) + 1 if line in found else recording.place
    frame = _reel_frame(recording, line.number or 0)
    if frame is None:
        desk.troubles.say("That frame of the master shows no film of this reel.")
        return False
    desk.go_to(frame, now)
    desk.troubles.say(line.text)
    return True


def _reel_frame(recording: Recording, number: int) -> int | None:
    """Return which frame of the reel a frame of the master under work shows; None for bars and black."""
    job = recording.job
    if job is not None and isinstance(order := job.order, Transfer):
        return Span(order.reel, order.delivery, order.first, order.stop).frame(number)
    return recording.record.span.frame(number) if recording.record is not None else None
