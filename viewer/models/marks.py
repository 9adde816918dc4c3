"""Places that a person goes to without a number: cues, the head mark, both ends, and loops about a cue."""

from __future__ import annotations

from lamphouse.graph.reel.records import Cue, Reel
from lamphouse.nodes.errors import BadInput

Loop = tuple[int, int]  # frames, half-open


def next_mark(reel: Reel, frame: int) -> int | None:
    """Return the frame of the first mark after `frame`, or None."""
    return min((mark.frame for mark in reel.marks if mark.frame > frame), default=None)


def previous_mark(reel: Reel, frame: int) -> int | None:
    """Return the frame of the last mark before `frame`, or None."""
    return max((mark.frame for mark in reel.marks if mark.frame < frame), default=None)


def end(reel: Reel) -> int:
    """Return the last frame of the reel."""
    return reel.scan.frames - 1


def head_mark(reel: Reel) -> int:
    """Return the frame at which the counters read zero. Raises BadInput where the scan does not hold it."""
    if not 0 <= reel.head_mark <= end(reel):
        raise BadInput(
            f"The head mark is frame {reel.head_mark}, outside the reel, which has frames 0 to {end(reel)}."
        )
    return reel.head_mark


def loop_about(reel: Reel, cue: Cue, margin: int) -> Loop:
    """Return the loop that shows how `cue` begins, with `margin` frames before its transition and after it.

    It keeps within the reel and always holds the frame of the cue, so that a margin of 0 is a loop too.
    """
    begins = cue.frame - cue.length if cue.begins == "transition" else cue.frame
    return loop_over(reel, begins, cue.frame + 1, margin)


def loop_over(reel: Reel, start: int, stop: int, margin: int) -> Loop:
    """Return the loop over frames [start, stop) with `margin` frames on either side, within the reel."""
    return max(0, start - margin), min(reel.scan.frames, stop + margin)
