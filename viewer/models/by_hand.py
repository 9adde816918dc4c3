"""What hands do with cues while the film runs and beside it: set on the run, nudged, brought here, looped."""

from __future__ import annotations

from typing import Final, Protocol

from lamphouse.graph.edits.cues import cue_at, store_cue
from lamphouse.graph.reel.records import Cue
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.drags import Nudge
from lamphouse.viewer.models.marks import Loop, loop_about, loop_over
from lamphouse.viewer.models.preferences import Reaction
from lamphouse.viewer.models.transport import Transport

MARGIN: Final = 24  # frames before and after what a loop shows (our choice)
PAUSE: Final = 1_000_000_000  # nanoseconds without a nudge after which the next is another step (our choice)
NO_CUE: Final = "No cue holds here that could be moved."


class Homing(Protocol):
    """Who leads the picture elsewhere for a while, and knows how the film moved before that."""

    home: Transport | None


def cue_on_run(desk: Desk, reaction: Reaction, now: int) -> None:
    """Put a cue at the frame that the screen shows, or where it was a reaction ago while the film moves."""
    transport, seen = desk.transport, desk.on_screen
    late = reaction.frames(transport.rate, transport.speed) if transport.is_moving(now) else 0
    frame = _before(transport, seen, late)
    desk.edit(lambda reel: store_cue(reel, frame, desk.controls))
    if not desk.message:
        readings = desk.readings(frame)
        taken = f", {abs(late)} frames from the one that was seen" if late else ""
        desk.message = f"There is a cue at {readings.timecode}, frame {frame}{taken}."


def _before(transport: Transport, seen: int, late: int) -> int:
    """Return the frame so many before the one that was seen, round a loop, and no farther than the reel."""
    if transport.loop is not None:
        start, stop = transport.loop
        return start + (seen - late - start) % (stop - start)
    return max(0, min(seen - late, transport.frames - 1))


def nudge_cue(desk: Desk, by: int, last: Nudge | None, now: int) -> Nudge | None:
    """Move the cue that holds by frames, and return what the next nudge goes on with.

    The picture goes along where it stands; while the film runs, in a loop say, it runs on. Nudges that follow
    each other soon are of one cue, and one step to undo.
    """
    goes_on = last is not None and now - last.at < PAUSE and cue_at(desk.reel, last.drag.cue or 0)
    drag = last.drag if last is not None and goes_on else desk.grasp("cue")
    if drag.cue is None:
        desk.message = NO_CUE
        return None
    drag.cue = desk.move(drag.cue, drag.cue + by, drag)
    if not desk.transport.is_moving(now):
        desk.go_to(drag.cue, now)
    return Nudge(drag, now)


def cue_here(desk: Desk) -> None:
    """Move the cue that is nearest to the playhead to it, as near as its neighbours allow."""
    here = desk.frame
    near = min(desk.cues.cues, key=lambda cue: abs(cue.frame - here), default=None)
    if near is None:
        desk.message = NO_CUE
        return
    at = desk.move(near.frame, here)
    if not desk.message:
        place = desk.readings(at).timecode
        why = "" if at == here else ", the nearest place that its neighbours leave it"
        desk.message = f"{near.name or 'The cue'} is at {place} now{why}."


def to_loop(desk: Desk) -> tuple[Loop, str]:
    """Return what is looped at the playhead, and what that is called.

    Of the transitions at either end of this shot it is the nearest; where both ends are cuts, the shot.
    """
    index, here = desk.cues.holding(desk.frame), desk.frame
    after = desk.cues.cues[0 if index is None else index + 1 :][:1]
    ends = [cue for cue in (desk.holding, *after) if cue is not None and cue.length]
    if ends:
        cue = min(ends, key=lambda cue: max(cue.frame - cue.length - here, here - cue.frame, 0))
        return loop_about(desk.reel, cue, MARGIN), f"the transition to {_called(desk, cue)}"
    start, stop = desk.holding, after[0].frame if after else desk.reel.scan.frames
    name = "the head of the reel" if start is None else f"the shot {_called(desk, start)}"
    return loop_over(desk.reel, start.frame if start else 0, stop, MARGIN), name


def loop_here(desk: Desk, now: int) -> None:
    """Play round the transition or the shot at the playhead, or no longer; say which."""
    if desk.transport.loop is not None:
        desk.loop(None, now)
        return
    loop, name = to_loop(desk)
    desk.loop(loop, now)
    desk.message = f"Loops {name} with {MARGIN} frames on either side, {loop[0]} to {loop[1] - 1}."


def _called(desk: Desk, cue: Cue) -> str:
    return cue.name or f"at {desk.readings(cue.frame).timecode}"


def follow_drag(desk: Desk, held: Homing, frame: int, now: int) -> None:
    """Show the frame of what is dragged on the strip, or is under the pointer, until `return_home`."""
    if held.home is None:
        held.home = desk.transport.run(desk.transport.speed, now)
        desk.stop(now)
    desk.go_to(frame, now)


def return_home(desk: Desk, held: Homing, now: int) -> None:
    """Go back to where the picture was before it was led elsewhere, and on as it moved then."""
    home, held.home = held.home, None
    if home is not None:
        moved = desk.transport.go_to(home.frame, now).looping(home.loop, now)
        desk.transport = moved.run(home.speed, now)
