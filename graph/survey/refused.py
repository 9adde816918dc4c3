"""What a person did not want: it is kept in the reel, and not proposed again."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable
from typing import Final

from msgspec.structs import replace

from lamphouse.graph.reel.records import Reel, Refused
from lamphouse.graph.survey.proposal import Proposal

NEAR: Final = 2  # frames by which another survey may find the same thing elsewhere
SHARE: Final = 0.25  # and of its length


class _Known:
    """Things of a kind and a name by their frames: of thousands only those nearby are looked at."""

    def __init__(self, things: Iterable[Proposal] | Iterable[Refused]) -> None:
        self._lengths: defaultdict[tuple[str, str], dict[int, int]] = defaultdict(dict)
        for one in things:
            lengths = self._lengths[one.kind, one.what]
            lengths[one.frame] = max(one.frames, lengths.get(one.frame, 0))
        self._frames = {key: sorted(lengths) for key, lengths in self._lengths.items()}

    def has(self, one: Proposal | Refused) -> bool:
        """Say whether this, or what is about the same, is among them."""
        key = (one.kind, one.what)
        frames = self._frames.get(key)
        if not frames:
            return False
        reach = max(NEAR, SHARE * one.frames)
        first, stop = bisect_left(frames, one.frame - reach), bisect_right(frames, one.frame + reach)
        return any(
            abs(at - one.frame) <= max(NEAR, SHARE * min(one.frames, self._lengths[key][at]))
            for at in frames[first:stop]
        )


def refuse(reel: Reel, proposals: Iterable[Proposal]) -> Reel:
    """Return `reel` with these refused."""
    new = (
        Refused(kind=proposal.kind, what=proposal.what, frame=proposal.frame, frames=proposal.frames)
        for proposal in wanted(reel, proposals)
    )
    return replace(reel, refused=(*reel.refused, *new))


def call_back(reel: Reel, proposals: Iterable[Proposal]) -> Reel:
    """Return `reel` with these refused no more."""
    called = _Known(proposals)
    return replace(reel, refused=tuple(known for known in reel.refused if not called.has(known)))


def wanted(reel: Reel, proposals: Iterable[Proposal]) -> list[Proposal]:
    """Return the proposals that a person has not refused, nor anything that is about the same."""
    known = _Known(reel.refused)
    return [proposal for proposal in proposals if not known.has(proposal)]


def is_refused(reel: Reel, proposal: Proposal) -> bool:
    """Say whether a person did not want this, or what is about the same."""
    return not wanted(reel, (proposal,))
