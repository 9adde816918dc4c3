"""The rows of the survey's list: all that is proposed, and what of it is of a kind and as sure as is asked.

Changes of shot are judged here, by what the survey found out about them once: they follow the margin at once.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final, Literal, cast, get_args

from lamphouse.graph.reel.records import Cue, Reel, Refused
from lamphouse.graph.survey.proposal import KINDS, Kind, Proposal, ordered
from lamphouse.graph.survey.refused import wanted

if TYPE_CHECKING:
    from lamphouse.graph.survey.changes.evidence import Evidence

Sureness = Literal["all", "sure", "unsure", "refused"]
SURENESS: Final[tuple[Sureness, ...]] = get_args(Sureness)
Key = tuple[str, str, int, int]
REFUSED: Final = "It was refused, so it is not proposed again; call it back to have it proposed."


def key_of(one: Proposal | Refused) -> Key:
    """Return by what a proposal is known again when the survey is made anew."""
    return one.kind, one.what, one.frame, one.frames


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """Proposals that are listed, in order of frame; `counts` are of all kinds."""

    proposals: tuple[Proposal, ...] = ()
    counts: dict[Kind, int] = field(default_factory=dict)
    places: dict[Key, int] = field(default_factory=dict)

    def at(self, key: Key | None) -> int | None:
        """Return the row of that key, while it is listed."""
        return None if key is None else self.places.get(key)

    def of(self, key: Key | None) -> Proposal | None:
        """Return the one of that key, while it is listed."""
        at = self.at(key)
        return None if at is None else self.proposals[at]


def rows_of(proposals: Iterable[Proposal], reel: Reel, kind: Kind | None, sureness: Sureness) -> Rows:
    """Return the rows of a kind, or of all, that are as sure as is asked; or what is refused in the reel."""
    every = _as_sure(proposals, reel, sureness)
    counts = dict.fromkeys(KINDS, 0)
    for one in every:
        counts[one.kind] += 1
    shown = tuple(one for one in every if kind in (None, one.kind))
    return Rows(shown, counts, {key_of(one): at for at, one in enumerate(shown)})


def _as_sure(proposals: Iterable[Proposal], reel: Reel, sureness: Sureness) -> Sequence[Proposal]:
    if sureness == "refused":
        return ordered(_refused(one) for one in reel.refused if one.kind in KINDS)
    if sureness == "all":
        return tuple(proposals)
    return [one for one in proposals if one.is_sure == (sureness == "sure")]


def _refused(one: Refused) -> Proposal:
    return Proposal(
        kind=cast(Kind, one.kind), what=one.what, frame=one.frame, frames=one.frames, sure=0.0, why=REFUSED
    )


@dataclass(slots=True)
class LiveCues:
    """The cues that the survey proposes for changes of shot, at the margin and in the reel of now."""

    evidence: Evidence | None = None
    _of: tuple[Evidence, float, tuple[Cue, ...], tuple[Refused, ...]] | None = None
    _cues: tuple[Proposal, ...] = ()

    def laid_over(self, proposals: tuple[Proposal, ...], reel: Reel, margin: float) -> tuple[Proposal, ...]:
        """Return what is proposed with these in place of its cues; as it is until the evidence is there."""
        if self.evidence is None:
            return proposals
        others = (one for one in proposals if one.kind != "cues")
        return ordered((*others, *self._now(self.evidence, reel, margin)))

    def _now(self, evidence: Evidence, reel: Reel, margin: float) -> tuple[Proposal, ...]:
        case = evidence, margin, reel.cues, reel.refused
        if self._of is None or any(old is not new for old, new in zip(self._of, case, strict=True)):
            from lamphouse.graph.survey.changes.evidence import changes
            from lamphouse.graph.survey.changes.proposed import cues_for

            self._cues = tuple(wanted(reel, cues_for(reel, changes(evidence, margin))))
            self._of = case
        return self._cues
