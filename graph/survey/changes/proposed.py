"""Changes of shot as proposals: a cue at each, which a dissolve and a fade in begin with a transition.

A fade out ends on black, where nothing is to be graded: it is a transition of the film's own and gets no cue;
the shot after it has one.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from lamphouse.graph.reel.records import Reel
from lamphouse.graph.survey.look import Change, Look
from lamphouse.graph.survey.proposal import Proposal


def proposals(look: Look) -> Iterator[Proposal]:
    """Yield a cue for each change of shot that has none yet, nor one a frame beside it."""
    yield from cues_for(look.opened.reel, look.changes)


def cues_for(reel: Reel, changes: Iterable[Change]) -> Iterator[Proposal]:
    """Yield the same by the reel and its changes of shot alone, for whoever turns the margin."""
    standing = {cue.frame + by for cue in reel.cues for by in (-1, 0, 1)}
    for change in changes:
        if change.what != "fade out" and change.frame not in standing:
            yield _proposal(change)


def _proposal(change: Change) -> Proposal:
    times = 1 / (2 * (1 - change.sure)) if change.sure < 1 else float("inf")
    return Proposal(
        kind="cues",
        what=change.what,
        frame=change.frame,
        frames=max(1, change.frames),
        sure=change.sure,
        why=f"The pictures before and after differ {times:.1f} times as far as the margin asks.",
    )
