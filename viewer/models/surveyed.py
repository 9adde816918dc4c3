"""What the desk asks of the survey, and what has come of it: how far the scan is measured, and proposals."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from lamphouse.graph.reel.records import Reel
from lamphouse.graph.survey.proposal import Proposal

MINUTE: Final = 60


@dataclass(frozen=True, slots=True, eq=False)
class SurveyAsked:
    """A survey of a reel at a margin, larger for fewer cuts; each equals itself alone."""

    reel: Reel
    margin: float


@dataclass(frozen=True, slots=True, eq=False)
class SurveyFound:
    """What is proposed for a reel at a margin; `is_whole` where nothing more is to come for these."""

    asked: SurveyAsked
    proposals: tuple[Proposal, ...] = ()
    is_whole: bool = False


@dataclass(frozen=True, slots=True)
class Surveyed:
    """How far a survey has come, in words, why it goes no farther, where it does not, and what it found."""

    words: str = ""
    reason: str = ""
    found: SurveyFound | None = None


def measured_text(done: int, frames: int, left: float | None) -> str:
    """Return what is said of a scan of which so many frames are measured; it takes `left` more seconds."""
    share = f"survey {100 * done // max(1, frames)} %"
    if left is None:
        return share
    if left < MINUTE:
        return f"{share}, less than a minute left"
    return f"{share}, {round(left / MINUTE)} min left"
