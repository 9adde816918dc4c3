"""A proposal: something that the survey found, what would be written for it, how sure it is and why."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Any, Final, Literal, get_args

from msgspec import Meta

from lamphouse.graph.files.record import Record
from lamphouse.graph.reel.records import Track

Kind = Literal["marks", "cues", "balance", "transitions", "faults", "flicker", "steadiness"]
KINDS: Final[tuple[Kind, ...]] = get_args(Kind)  # in the order in which they are written
SURE: Final = 0.8  # from here on a proposal is called sure (our choice)


Place = tuple[float, float, float, float]  # left, top, width, height in shares of the picture


class InFrame(Record, frozen=True, kw_only=True):
    """What a proposal found in one frame: how much of it, which share of the picture in %, where."""

    frame: int
    amount: float
    area: float
    places: tuple[Place, ...] = ()


class Proposal(Record, frozen=True, kw_only=True):
    """One thing that was found, at a frame of the scan; nothing is written until it is taken.

    `frame` is where it begins; of a dissolve or a transition where its cue would stand, and then `frames` is
    how long it lasts before that. `why` is one sentence with the measure in it. `settings` are those of
    the cue at `frame`, `begin` what they are where a transition starts, which goes by its `ease`; from frame
    `then` on, where the next shot is, holds what held before. `place` is where in the picture it is; `amount`
    the measure, in `unit`; `by_frame` the same of each frame that has any, where that was counted. `tracks`
    are to be laid over what cues set.
    """

    kind: Kind
    what: str
    frame: int
    frames: int = 1
    sure: Annotated[float, Meta(ge=0, le=1)]
    why: str
    settings: dict[str, Any] = {}
    begin: dict[str, Any] = {}
    ease: Literal["even", "soft"] = "soft"
    then: int | None = None
    place: Place | None = None
    amount: float | None = None
    unit: str = ""
    by_frame: tuple[InFrame, ...] = ()
    tracks: tuple[Track, ...] = ()

    @property
    def is_sure(self) -> bool:
        """Whether it is called sure."""
        return self.sure >= SURE

    @property
    def is_idle(self) -> bool:
        """Whether it only says something: that a shot is left as it is, and why."""
        return self.kind == "balance" and not self.settings

    @property
    def span(self) -> range:
        """The frames that it is about."""
        if self.kind in ("cues", "transitions"):
            return range(self.frame - self.frames if self.frames > 1 else self.frame, self.frame + 1)
        return range(self.frame, self.frame + max(1, self.frames))


def ordered(proposals: Iterable[Proposal]) -> tuple[Proposal, ...]:
    """Return proposals in order of frame, those of a frame in the order in which they are written."""
    return tuple(sorted(proposals, key=lambda one: (one.frame, KINDS.index(one.kind), one.what)))
