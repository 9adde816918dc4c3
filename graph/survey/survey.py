"""The survey: every part looks at the same statistics and shots, and proposes what it finds."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.statistics.statistics import Statistics
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.survey import flicker
from lamphouse.graph.survey.changes import proposed
from lamphouse.graph.survey.changes.evidence import changes as changes_of
from lamphouse.graph.survey.changes.evidence import evidence
from lamphouse.graph.survey.faults import (
    clipped,
    decay,
    dirt,
    fading,
    flashes,
    scratches,
    slips,
    soft,
    splices,
)
from lamphouse.graph.survey.faults.hairs import proposed as hairs
from lamphouse.graph.survey.look import Change, Look, Shot, shots_of
from lamphouse.graph.survey.marks import proposed as marks
from lamphouse.graph.survey.proposal import KINDS, Kind, Proposal, ordered
from lamphouse.graph.survey.refused import wanted
from lamphouse.graph.survey.sizes import Size, sizes
from lamphouse.graph.survey.starts import proposed as starts
from lamphouse.graph.survey.steadiness import steadiness
from lamphouse.graph.survey.transitions import proposed as transitions

Part = Callable[[Look], Iterator[Proposal]]

# Who proposes what, a part or more a kind.
PARTS: Final[Mapping[Kind, tuple[Part, ...]]] = {
    **dict.fromkeys(KINDS, ()),
    "marks": (marks.proposals,),
    "cues": (proposed.proposals,),
    "balance": (starts.proposals,),
    "transitions": (transitions.proposals,),
    "faults": (
        soft.proposals,
        clipped.proposals,
        slips.proposals,
        scratches.proposals,
        hairs.proposals,
        dirt.proposals,
        splices.proposals,
        flashes.proposals,
        decay.proposals,
        fading.proposals,
    ),
    "flicker": (flicker.proposals,),
    "steadiness": (steadiness.proposals,),
}


@dataclass(frozen=True, slots=True)
class Survey:
    """What was found in a reel, in the order of its frames, and the shots that it was found in.

    `sizes` has one for each shot: how much it flickers and moves, where that was looked for.
    """

    proposals: tuple[Proposal, ...]
    changes: tuple[Change, ...]
    shots: tuple[Shot, ...]
    sizes: tuple[Size, ...]


def survey(
    opened: OpenedReel,
    statistics: Statistics,
    *,
    margin: float = 1.0,
    only: Collection[Kind] = KINDS,
    changes: tuple[Change, ...] | None = None,
) -> Survey:
    """Return what is found in a reel by the statistics of its scan, but for what a person has refused.

    `changes` are its changes of shot where they are known already. Raises BadInput for a chain that is not
    whole.
    """
    if changes is None:
        changes = changes_of(evidence(statistics), margin)
    shots = shots_of(opened.reel, changes)
    with Grade(opened, threads=1) as grade:
        look = Look(opened, statistics, changes, shots, grade, margin)
        found = [
            proposal for kind in KINDS if kind in only for part in PARTS[kind] for proposal in part(look)
        ]
    return Survey(ordered(wanted(opened.reel, found)), changes, shots, sizes(look, only))
