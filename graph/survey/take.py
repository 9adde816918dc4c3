"""Proposals that a person takes become ordinary cues, settings, marks and tracks of the reel."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from itertools import groupby
from typing import Any, Final

from lamphouse.graph.cues.settings import Controls, CueList
from lamphouse.graph.edits.cues import cue_holding, set_cue
from lamphouse.graph.edits.marks import join_marks, with_head_mark
from lamphouse.graph.edits.several import set_cues
from lamphouse.graph.edits.tracks import lay
from lamphouse.graph.reel.records import Mark, MarkKind, Reel
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.survey.matching.knobs import switched_on
from lamphouse.graph.survey.proposal import KINDS, Kind, Proposal
from lamphouse.graph.survey.transitions.settings import laid_along
from lamphouse.nodes.errors import BadInput

HEAD_MARK: Final = "head mark"
SOFT: Final = "soft shot"
IDLE: Final = "It changes nothing; refuse it to have it off the list."

WriteOne = Callable[[Reel, Controls, Proposal], Reel]
Write = Callable[[Reel, Controls, Sequence[Proposal]], Reel]  # of one kind, in order of frames, or none


@dataclass(frozen=True, slots=True)
class Left:
    """A proposal that the reel does not take, and why, in a sentence."""

    proposal: Proposal
    reason: str


@dataclass(frozen=True, slots=True)
class Taken:
    """A reel with proposals written, and those that it does not take."""

    reel: Reel
    left: tuple[Left, ...]


def take(opened: OpenedReel, proposals: Iterable[Proposal]) -> Reel:
    """Return the reel with all of `proposals` written: cues before the settings that go into them.

    Those that change nothing are passed over. Raises BadInput for the first that the reel does not take, such
    as a transition without room.
    """
    taken = take_each(opened, (each for each in proposals if not each.is_idle))
    for left in taken.left:
        raise BadInput(left.reason)
    return taken.reel


def take_each(opened: OpenedReel, proposals: Iterable[Proposal]) -> Taken:
    """Return the reel with those of `proposals` written that it takes, and the others."""
    reel, controls = opened.reel, opened.controls()
    ordered = sorted(proposals, key=lambda each: (KINDS.index(each.kind), each.frame))
    left = [Left(each, IDLE) for each in ordered if each.is_idle]
    ordered = [each for each in ordered if not each.is_idle]
    for kind, some in groupby(ordered, key=lambda each: each.kind):
        reel = _written(WRITERS[kind], reel, controls, list(some), left)
    return Taken(reel, tuple(left))


def _written(
    write: Write, reel: Reel, controls: Controls, proposals: Sequence[Proposal], left: list[Left]
) -> Reel:
    """Write all at once; where the reel does not take that, one half and then the other."""
    try:
        return write(reel, controls, proposals)
    except BadInput as error:
        if len(proposals) == 1:
            left.append(Left(proposals[0], str(error)))
            return reel
    half = len(proposals) // 2
    reel = _written(write, reel, controls, proposals[:half], left)
    return _written(write, reel, controls, proposals[half:], left)


def _each(write: WriteOne) -> Write:
    """Return a writer of many from a writer of one."""
    return lambda reel, controls, proposals: reduce(lambda to, one: write(to, controls, one), proposals, reel)


def _marks(reel: Reel, controls: Controls, proposals: Sequence[Proposal]) -> Reel:
    for proposal in proposals:
        if proposal.what == HEAD_MARK:
            reel = with_head_mark(reel, proposal.frame)
    return join_marks(reel, (_mark(each, "place") for each in proposals if each.what != HEAD_MARK))


def _faults(reel: Reel, controls: Controls, proposals: Sequence[Proposal]) -> Reel:
    return join_marks(reel, (_mark(each, "check") for each in proposals))


def _mark(proposal: Proposal, kind: MarkKind) -> Mark:
    """Return the mark that a proposal becomes, with what was measured and where in the picture."""
    is_soft = proposal.what == SOFT
    return Mark(
        frame=proposal.frame,
        frames=proposal.frames,
        name="" if is_soft else proposal.what,
        kind="soft" if is_soft else kind,
        note=proposal.why,
        place=proposal.place,
    )


def _cues(reel: Reel, controls: Controls, proposals: Sequence[Proposal]) -> Reel:
    standing = {cue.frame for cue in reel.cues}
    new = {each.frame: each.frames for each in reversed(proposals) if each.frame not in standing}
    lengths = {frame: frames for frame, frames in new.items() if frames > 1}
    return set_cues(reel, {frame: {} for frame in new}, controls, lengths)


def _settings(reel: Reel, controls: Controls, proposals: Sequence[Proposal]) -> Reel:
    wanted: dict[int, dict[str, Any]] = {}
    for each in proposals:
        wanted[each.frame] = {**wanted.get(each.frame, {}), **each.settings}
    return set_cues(_with_ends(reel, controls, proposals), wanted, controls, {})


def _with_ends(reel: Reel, controls: Controls, proposals: Sequence[Proposal]) -> Reel:
    """Return the reel with a cue where each has to end, if none follows, that holds what holds there now."""
    standing = sorted(cue.frame for cue in reel.cues)
    ends = [
        each.then
        for each in proposals
        if each.then is not None
        and each.then < reel.scan.frames
        and bisect_right(standing, each.frame) == bisect_right(standing, each.then)
    ]
    return set_cues(reel, {end: {} for end in ends}, controls, {})


def _transition(reel: Reel, controls: Controls, proposal: Proposal) -> Reel:
    """Lay the way from one setting to the other over what holds where it begins, as it does by now."""
    first, frame = proposal.frame - proposal.frames, proposal.frame
    reel = _with_ends(reel, controls, [proposal])
    now = CueList(reel.cues, controls).at(first)
    settings = laid_along(proposal.begin, proposal.settings, now, controls)
    before = cue_holding(reel, frame)
    settings = switched_on(before.settings if before else {}, settings, controls)
    changes = {"begins": "transition", "length": proposal.frames, "ease": proposal.ease}
    return set_cue(reel, frame, controls, settings, **changes)


def _tracks(reel: Reel, controls: Controls, proposal: Proposal) -> Reel:
    return lay(reel, proposal.tracks, controls.catalogue)


WRITERS: Final[Mapping[Kind, Write]] = {
    "marks": _marks,
    "cues": _cues,
    "balance": _settings,
    "transitions": _each(_transition),
    "faults": _faults,
    "flicker": _each(_tracks),
    "steadiness": _each(_tracks),
}
