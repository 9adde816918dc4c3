"""Which frames an insert makes anew, as the person has chosen, and in words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from lamphouse.graph.reel.span import Span
from lamphouse.graph.transfer.wanted import Wanted
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.ends import marked_frames
from lamphouse.viewer.models.record_asked import JoinsCase, StaleCase
from lamphouse.viewer.models.recording import Recording, Takes

TAKES: Final[tuple[Takes, ...]] = ("stale", "cue", "marked")


def stale_case(desk: Desk, recording: Recording) -> StaleCase:
    """Return the question what of the last master is stale."""
    return StaleCase(desk.opened, recording.master, recording.record, recording.turn)


def wanted(desk: Desk, recording: Recording) -> Wanted | None:
    """Return what an insert is asked for, as its command is; None where nothing is chosen."""
    if recording.takes == "stale":
        return Wanted() if recording.stale is not None and recording.stale.numbers else None
    frames = chosen_frames(desk, recording)
    return None if frames is None else Wanted(start=str(frames.start), stop=str(frames.stop))


def chosen_frames(desk: Desk, recording: Recording) -> range | None:
    """Return the frames of the reel that are chosen, but for what is stale; None where there are none."""
    record = recording.record
    frames = marked_frames(desk) if recording.takes == "marked" else _of_cue(desk)
    if frames is None or record is None:
        return None
    span = record.span
    held = range(max(frames.start, span.first), min(frames.stop, span.stop))
    return held if held else None


def _of_cue(desk: Desk) -> range | None:
    """Return the frames that are made of the settings of the cue that holds: see `wanted_frames`."""
    cue = desk.holding
    if cue is None:
        return None
    first = cue.frame - cue.length + 1 if cue.begins == "transition" else cue.frame
    later = (other.frame for other in desk.reel.cues if other.frame > cue.frame)
    return range(first, next(later, desk.reel.scan.frames))


def numbers_to_make(desk: Desk, recording: Recording) -> Sequence[range]:
    """Return the frames of the master that the insert would make."""
    record, stale = recording.record, recording.stale
    if record is None:
        return ()
    if recording.takes == "stale":
        return stale.numbers if stale is not None else ()
    frames = chosen_frames(desk, recording)
    if frames is None:
        return ()
    span = Span(desk.reel, record.delivery, record.first, record.stop)
    return (span.numbers(frames.start, frames.stop),)


def made_last(recording: Recording) -> Sequence[range]:
    """Return the frames of the master that the last insert of this page made anew."""
    job, record = recording.job, recording.record
    is_made = job is not None and job.what == "insert" and job.ended is not None and job.ended.how == "done"
    if not is_made or record is None or not record.inserts:
        return ()
    last = record.inserts[-1].made
    return [range(one.first, one.stop) for one in record.inserts if one.made == last]


def joins_case(desk: Desk, recording: Recording) -> JoinsCase | None:
    """Return the question how the run that is looked at joins the other frames; None where there is none.

    It is one of those that would be made anew, else of those that have been.
    """
    runs = numbers_to_make(desk, recording) or made_last(recording)
    record = recording.record
    if not runs or record is None or recording.master is None or recording.is_at_work:
        return None
    return JoinsCase(desk.opened, recording.master, record, runs[recording.run % len(runs)])
