"""Places that a hand means when it comes near them: cues, marks, the head mark, the playhead."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence

from lamphouse.graph.reel.records import Cue, Reel


def snapped(at: float, targets: Iterable[int], within: float) -> int | None:
    """Return the nearest of `targets` to a place, if it is within so many frames, else None.

    Of two as near, the earlier.
    """
    near = [target for target in targets if abs(target - at) <= within]
    return min(near, key=lambda target: (abs(target - at), target), default=None)


def near_cues(cues: Sequence[Cue], at: float, count: int = 2) -> Sequence[Cue]:
    """Return the `count` cues before a place and as many after it, of cues in order of frame."""
    index = bisect_left(cues, at, key=lambda cue: cue.frame)
    return cues[max(0, index - count) : index + count]


def marked_places(reel: Reel) -> Iterator[int]:
    """Give the head mark, and where each mark begins and what follows it."""
    yield reel.head_mark
    for mark in reel.marks:
        yield mark.frame
        if mark.frames > 1:
            yield mark.frame + mark.frames
