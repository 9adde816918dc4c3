"""What a person did not want: it is kept in the reel, and not proposed again."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from msgspec.structs import replace

from lamphouse.graph.reel.records import Reel, Refused
from lamphouse.graph.survey.proposal import Proposal

NEAR: Final = 2  # frames by which another survey may find the same thing elsewhere
SHARE: Final = 0.25  # and of its length


def refuse(reel: Reel, proposals: Iterable[Proposal]) -> Reel:
    """Return `reel` with these refused."""
    new = (
        Refused(kind=proposal.kind, what=proposal.what, frame=proposal.frame, frames=proposal.frames)
        for proposal in proposals
        if not is_refused(reel, proposal)
    )
    return replace(reel, refused=(*reel.refused, *new))


def call_back(reel: Reel, proposals: Iterable[Proposal]) -> Reel:
    """Return `reel` with these refused no more."""
    wanted = tuple(proposals)
    kept = tuple(known for known in reel.refused if not any(_is(known, each) for each in wanted))
    return replace(reel, refused=kept)


def is_refused(reel: Reel, proposal: Proposal) -> bool:
    """Say whether a person did not want this, or what is about the same."""
    return any(_is(known, proposal) for known in reel.refused)


def _is(known: Refused, proposal: Proposal) -> bool:
    near = max(NEAR, SHARE * min(known.frames, proposal.frames))
    is_same = (known.kind, known.what) == (proposal.kind, proposal.what)
    return is_same and abs(known.frame - proposal.frame) <= near
