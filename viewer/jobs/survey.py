"""The survey in a process of its own: it measures the scan, and makes proposals of each state of a reel.

It gives way to others, for somebody works at the desk meanwhile, but not wholly: that person waits for it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from lamphouse.graph.media.working_copy.apart import SOME, give_way
from lamphouse.graph.survey.proposal import KINDS, Kind, Proposal
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.jobs.orders import OfReel
from lamphouse.viewer.jobs.said import Outcome
from lamphouse.viewer.jobs.told import Told

if TYPE_CHECKING:
    from lamphouse.graph.media.statistics.statistics import Statistics
    from lamphouse.graph.reel.records import Reel
    from lamphouse.graph.survey.changes.evidence import Evidence
    from lamphouse.graph.survey.look import Change


@dataclass(frozen=True, slots=True)
class Wished:
    """Proposals for a reel at a margin, by a number that is said with them."""

    number: int
    reel: Reel
    margin: float


@dataclass(frozen=True, slots=True, eq=False)
class Proposed:
    """What is proposed of a kind for the wish of that number."""

    number: int
    kind: Kind
    proposals: tuple[Proposal, ...] = ()
    reason: str = ""  # why there is none, nor will be of any other kind


@dataclass(frozen=True, slots=True)
class Measured:
    """The scan is measured, and changes of shot are looked for."""


@dataclass(frozen=True, slots=True, eq=False)
class Evident:
    """What speaks for changes of shot, whatever the margin is: what follows are proposals."""

    evidence: Evidence


@dataclass(frozen=True, slots=True)
class Survey(OfReel):
    """Measure the scan of a reel, and make proposals for each wish, until nobody has any more."""

    def run(self, told: Told) -> Outcome:
        """Do it. Raises BadInput where the scan cannot be read."""
        from lamphouse.graph.media.statistics.kept import KeptStatistics
        from lamphouse.graph.media.statistics.make import statistics_of
        from lamphouse.graph.survey.changes.evidence import changes, evidence

        give_way(SOME)
        opened = self.opened
        kept = KeptStatistics(opened.reel.scan, opened.scan_path)
        with told.stage("survey") as step:
            statistics = statistics_of(kept, opened.open_scan, stopped=told.is_asked, said=step)
        told.give(Measured())
        found = evidence(statistics)  # the same for every wish
        told.give(Evident(found))
        for wished in told.wishes():
            self._propose(told, statistics, changes(found, wished.margin), wished)
        return Outcome("The survey is over.")

    def _propose(
        self, told: Told, statistics: Statistics, changes: tuple[Change, ...], wished: Wished
    ) -> None:
        """Give out what is proposed, kind by kind, unless something newer is wished for."""
        from lamphouse.graph.survey.survey import survey

        opened = self.opened.with_reel(wished.reel)
        for kind in KINDS:
            if told.has_wish():
                return
            try:
                part = survey(opened, statistics, margin=wished.margin, only=(kind,), changes=changes)
            except BadInput as error:  # the chain, say, which may be whole again in the next wish
                told.give(Proposed(wished.number, kind, reason=str(error)))
                return
            told.give(Proposed(wished.number, kind, part.proposals))
