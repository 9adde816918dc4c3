"""The survey in a process of its own: it measures the scan, and makes proposals of each state of a reel.

It takes what others leave of the processors, for somebody works at the desk meanwhile.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from lamphouse.graph.media.working_copy.apart import give_way
from lamphouse.graph.survey.proposal import KINDS, Proposal
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.jobs.orders import OfReel
from lamphouse.viewer.jobs.said import Outcome
from lamphouse.viewer.jobs.told import Told

if TYPE_CHECKING:
    from lamphouse.graph.media.statistics.statistics import Statistics
    from lamphouse.graph.reel.records import Reel
    from lamphouse.graph.survey.look import Change


@dataclass(frozen=True, slots=True)
class Wished:
    """Proposals for a reel at a margin, by a number that is said with them."""

    number: int
    reel: Reel
    margin: float


@dataclass(frozen=True, slots=True, eq=False)
class Proposed:
    """What is proposed for the wish of that number, so far or in all."""

    number: int
    proposals: tuple[Proposal, ...]
    is_whole: bool = False
    reason: str = ""  # why there is no more


@dataclass(frozen=True, slots=True)
class Measured:
    """The scan is measured: what follows are proposals."""


@dataclass(frozen=True, slots=True)
class Survey(OfReel):
    """Measure the scan of a reel, and make proposals for each wish, until nobody has any more."""

    def run(self, told: Told) -> Outcome:
        """Do it. Raises BadInput where the scan cannot be read."""
        from lamphouse.graph.media.statistics.kept import KeptStatistics
        from lamphouse.graph.media.statistics.make import statistics_of
        from lamphouse.graph.survey.changes.evidence import changes, evidence

        give_way()
        opened = self.opened
        kept = KeptStatistics(opened.reel.scan, opened.scan_path)
        with told.stage("survey") as step:
            statistics = statistics_of(kept, opened.open_scan, stopped=told.is_asked, said=step)
        told.give(Measured())
        found = evidence(statistics)  # the same for every wish
        for wished in told.wishes():
            self._propose(told, statistics, changes(found, wished.margin), wished)
        return Outcome("The survey is over.")

    def _propose(
        self, told: Told, statistics: Statistics, changes: tuple[Change, ...], wished: Wished
    ) -> None:
        """Give out what is proposed, kind by kind, unless something newer is wished for."""
        from lamphouse.graph.survey.survey import survey

        opened = self.opened.with_reel(wished.reel)
        found: tuple[Proposal, ...] = ()
        try:
            for kind in KINDS:
                if told.has_wish():
                    return
                part = survey(opened, statistics, margin=wished.margin, only=(kind,), changes=changes)
                found = (*found, *part.proposals)
                if part.proposals:
                    told.give(Proposed(wished.number, found))
            told.give(Proposed(wished.number, found, is_whole=True))
        except BadInput as error:  # the chain, say, which may be whole again in the next wish
            told.give(Proposed(wished.number, found, is_whole=True, reason=str(error)))
