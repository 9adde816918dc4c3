"""What the desk asks of the survey, and what has come of it: how far the scan is measured, and proposals."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from lamphouse.graph.reel.records import Reel
from lamphouse.graph.survey.proposal import KINDS, Kind, Proposal

if TYPE_CHECKING:
    from lamphouse.graph.survey.changes.evidence import Evidence

MINUTE: Final = 60


@dataclass(frozen=True, slots=True, eq=False)
class SurveyAsked:
    """A survey of a reel at a margin, larger for fewer cuts; each equals itself alone."""

    reel: Reel
    margin: float


@dataclass(frozen=True, slots=True, eq=False)
class SurveyFound:
    """What is proposed for a reel at a margin, of the kinds that have been looked for."""

    asked: SurveyAsked
    proposals: tuple[Proposal, ...] = ()
    looked_for: tuple[Kind, ...] = KINDS

    @property
    def next_kind(self) -> Kind | None:
        """The kind that is being looked for; None where nothing more is to come."""
        return next((kind for kind in KINDS if kind not in self.looked_for), None)


@dataclass(frozen=True, slots=True)
class Surveyed:
    """How far a survey has come, in words, why it goes no farther, where it does not, and what it found.

    By `evidence` changes of shot follow the margin at once.
    """

    words: str = ""
    reason: str = ""
    found: SurveyFound | None = None
    evidence: Evidence | None = None


def measured_text(done: int, frames: int, left: float | None) -> str:
    """Return what is said of a scan of which so many frames are measured; it takes `left` more seconds."""
    share = f"survey {100 * done // max(1, frames)} %"
    if left is None:
        return share
    if left < MINUTE:
        return f"{share}, less than a minute left"
    return f"{share}, {round(left / MINUTE)} min left"
