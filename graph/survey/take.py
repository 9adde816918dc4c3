"""Proposals that a person takes become ordinary cues, settings, marks and tracks of the reel."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Final

from lamphouse.graph.cues.settings import Controls
from lamphouse.graph.edits.cues import cue_at, cue_holding, set_cue
from lamphouse.graph.edits.marks import put_mark, with_head_mark
from lamphouse.graph.edits.tracks import lay
from lamphouse.graph.reel.records import Mark, Reel
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.survey.proposal import KINDS, Kind, Proposal

HEAD_MARK: Final = "head mark"
SOFT: Final = "soft shot"

Write = Callable[[Reel, Controls, Proposal], Reel]


def take(opened: OpenedReel, proposals: Iterable[Proposal]) -> Reel:
    """Return the reel with `proposals` written: cues before the settings that go into them.

    Raises BadInput for what the reel does not take, such as a transition for which there is no room.
    """
    reel, controls = opened.reel, opened.controls()
    for proposal in sorted(proposals, key=lambda each: (KINDS.index(each.kind), each.frame)):
        reel = WRITERS[proposal.kind](reel, controls, proposal)
    return reel


def _mark(reel: Reel, controls: Controls, proposal: Proposal) -> Reel:
    if proposal.what == HEAD_MARK:
        return with_head_mark(reel, proposal.frame)
    return put_mark(reel, Mark(frame=proposal.frame, frames=proposal.frames, name=proposal.what))


def _cue(reel: Reel, controls: Controls, proposal: Proposal) -> Reel:
    if cue_at(reel, proposal.frame) is not None:
        return reel
    if proposal.frames <= 1:
        return set_cue(reel, proposal.frame, controls, {})
    return set_cue(reel, proposal.frame, controls, {}, begins="transition", length=proposal.frames)


def _settings(reel: Reel, controls: Controls, proposal: Proposal) -> Reel:
    return set_cue(reel, proposal.frame, controls, proposal.settings) if proposal.settings else reel


def _transition(reel: Reel, controls: Controls, proposal: Proposal) -> Reel:
    start = proposal.frame - proposal.frames
    holds = cue_holding(reel, start)
    reel = set_cue(reel, holds.frame if holds else start, controls, proposal.begin)
    changes = {"begins": "transition", "length": proposal.frames}
    return set_cue(reel, proposal.frame, controls, proposal.settings, **changes)


def _fault(reel: Reel, controls: Controls, proposal: Proposal) -> Reel:
    if proposal.what == SOFT:
        return put_mark(reel, Mark(frame=proposal.frame, frames=proposal.frames, kind="soft"))
    return put_mark(
        reel, Mark(frame=proposal.frame, frames=proposal.frames, name=proposal.what, kind="check")
    )


def _tracks(reel: Reel, controls: Controls, proposal: Proposal) -> Reel:
    return lay(reel, proposal.tracks, controls.catalogue)


WRITERS: Final[Mapping[Kind, Write]] = {
    "marks": _mark,
    "cues": _cue,
    "balance": _settings,
    "transitions": _transition,
    "faults": _fault,
    "flicker": _tracks,
    "steadiness": _tracks,
}
