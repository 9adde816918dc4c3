"""What a hand holds, from the grasp until it lets go: one thing of one cue, and one step to undo."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from lamphouse.graph.edits.cues import cue_at
from lamphouse.graph.reel.records import Reel
from lamphouse.viewer.models.balance import Aim


@dataclass(slots=True, eq=False)
class Drag:
    """A grasp of `what`, bound to the cue that it was of by the frame of that, which may be what is dragged.

    None is the cue that the first change makes, where none held. Two grasps are never the same. `aims` are
    those of the balances as they were when the grasp first asked for them.
    """

    what: str
    cue: int | None
    aims: dict[str, Aim] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Nudge:
    """A push of a cue by a key, at a time in nanoseconds: another that comes soon goes on with its drag."""

    drag: Drag
    at: int


def followed(before: Reel, after: Reel, frame: int) -> int:
    """Return where the cue that stood at `frame` before stands after an edit, or after that was undone.

    It went where there was none before, if it went anywhere; else `frame` is returned.
    """
    if before is after or cue_at(after, frame) is not None:
        return frame
    known = {cue.frame for cue in before.cues}
    new = [cue.frame for cue in after.cues if cue.frame not in known]
    return new[0] if len(new) == 1 and frame in known and len(before.cues) == len(after.cues) else frame


def rounded(value: Any) -> Any:
    """Return numbers to six digits: what comes from a hand's pixels means no more."""
    if isinstance(value, float):
        return float(f"{value:.6g}")
    return tuple(map(rounded, value)) if isinstance(value, list | tuple) else value
