"""Proposals in words, for a terminal and for the desk."""

from __future__ import annotations

import math
from collections import Counter as Counts
from collections.abc import Iterable

from lamphouse.graph.reel.counters import Counter
from lamphouse.graph.survey.proposal import KINDS, Proposal
from lamphouse.graph.survey.sizes import Size
from lamphouse.graph.survey.take import Left
from lamphouse.nodes.errors import clause
from lamphouse.nodes.one_line import one_line


def line(proposal: Proposal, counters: Counter) -> str:
    """Return a proposal in a line: its place in the three readings, what it is, how sure, and why."""
    place = counters.readings(proposal.frame)
    words = (
        f"{proposal.kind:<11}  {what_text(proposal):<26}  {sureness(proposal):>9}  {one_line(proposal.why)}"
    )
    return f"{place.columns}  {words}".rstrip()


def shot_line(size: Size, counters: Counter, height: int) -> str:
    """Return a shot in a line: its place in the three readings, its length, how much it flickers and moves.

    `height` is that of the scan in lines.
    """
    shot, flicker, moves = size
    words = [f"{shot.stop - shot.first:>6} frames"]
    words += [f"flickers by {flicker:.3f} stops"] if flicker is not None else []
    words += [f"moves by {moves:.3%} of its height, {moves * height:.2f} lines"] if moves is not None else []
    return "  ".join([counters.readings(shot.first).columns, *words])


def what_text(proposal: Proposal) -> str:
    """Return what is proposed: `dissolve, 24 frames`."""
    return f"{proposal.what}, {proposal.frames} frames" if proposal.frames > 1 else proposal.what


def left_text(left: Left, counters: Counter) -> str:
    """Return that a proposal is not taken and why, in a sentence."""
    place = counters.readings(left.proposal.frame).timecode
    return f"The {left.proposal.what} at {place} is not taken ({clause(left.reason)})."


def sureness(proposal: Proposal) -> str:
    """Return how sure a proposal is: `sure 0.93`, or `0.41`."""
    return f"{'sure ' if proposal.is_sure else ''}{hundredths(proposal.sure):.2f}"


def hundredths(sure: float) -> float:
    """Return it in whole hundredths, never more than it is: 0.796 is unsure and not 0.80."""
    return math.floor(100 * sure + 1e-6) / 100


def summary(proposals: Iterable[Proposal], shots: int) -> str:
    """Return how many shots there are and how many proposals of each kind, in a sentence."""
    counts = Counts(proposal.kind for proposal in proposals)
    found = [f"{counts[kind]} of {kind}" for kind in KINDS if counts[kind]]
    parts = f"{shots} shot{'s' if shots != 1 else ''}"
    if not found:
        return f"{parts}; nothing is proposed."
    return f"{parts}; proposed: {', '.join(found)}."
