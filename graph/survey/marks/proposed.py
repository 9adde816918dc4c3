"""Marks as proposals: leaders, start and end of the picture, punched holes, sync pips.

The first hole of the head is the head mark, where the counters read zero, unless a person has set that.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.survey.changes.leaders import Leaders, leaders
from lamphouse.graph.survey.look import Look
from lamphouse.graph.survey.marks.holes import Hole, holes
from lamphouse.graph.survey.marks.pips import FoundPip, pips
from lamphouse.graph.survey.proposal import Proposal
from lamphouse.graph.survey.take import HEAD_MARK
from lamphouse.graph.time.rate import parse_rate

PLAIN, BLURRED = 0.95, 0.75  # how sure an end of the picture is: at a cut, and where it fades (our choice)
PIP, TONE = 0.95, 0.6  # how sure a pip is: beside a leader, and beside the picture (our choice)
DARK, BRIGHT, GREY = 0.25, 0.75, 0.08  # of white: film that is called black, clear, and grey (our choice)


def proposals(look: Look) -> Iterator[Proposal]:
    """Yield the marks that the reel has not got yet."""
    reel, small = look.opened.reel, look.statistics.rows["small"]
    ends = leaders(small)
    found = chain(
        _ends(look, ends),
        _holes(reel.head_mark, holes(small, ends), ends),
        _pips(look, pips(reel, look.opened.sound_path, ends), ends),
    )
    standing = {(mark.frame, name) for mark in reel.marks for name in mark.name.split(", ")}
    return (each for each in found if (each.frame, each.what) not in standing)


def _ends(look: Look, ends: Leaders) -> Iterator[Proposal]:
    frames, small = look.statistics.frames, look.statistics.rows["small"]
    if ends.head == frames:
        yield _leader("leader", small, 0, frames, PLAIN)
        return
    cuts = {change.frame for change in look.changes if change.what == "cut"}
    if ends.head:
        sure = PLAIN if ends.head in cuts else BLURRED
        yield _leader("head leader", small, 0, ends.head, sure)
        why = f"The first picture after {ends.head} frames of leader."
        yield Proposal(kind="marks", what="start of picture", frame=ends.head, sure=sure, why=why)
    if ends.tail < frames:
        sure = PLAIN if ends.tail in cuts else BLURRED
        why = f"The last picture before {frames - ends.tail} frames of leader."
        yield Proposal(kind="marks", what="end of picture", frame=ends.tail - 1, sure=sure, why=why)
        yield _leader("tail leader", small, ends.tail, frames, sure)


def _leader(what: str, small: NDArray[np.uint8], first: int, stop: int, sure: float) -> Proposal:
    why = f"Film without a picture, {_film(small[first:stop])} in the scan, for {stop - first} frames."
    return Proposal(kind="marks", what=what, frame=first, frames=stop - first, sure=sure, why=why)


def _film(small: NDArray[np.uint8]) -> str:
    some = small[:: max(1, len(small) // 64)]
    tone = np.median(some.transpose(1, 0, 2, 3).reshape(3, -1), axis=1) / 255
    if tone.max() < DARK:
        return "black"
    if np.ptp(tone) < GREY:
        return "clear" if tone.min() > BRIGHT else "grey"
    return "coloured"


def _holes(zero: int, found: list[Hole], ends: Leaders) -> Iterator[Proposal]:
    middle = (ends.head + ends.tail) // 2
    is_free = zero == 0
    for hole in found:
        what = HEAD_MARK if is_free and hole.frame < middle else "punched hole"
        is_free = is_free and what != HEAD_MARK
        if hole.frame != zero:
            yield _hole(what, hole)


def _hole(what: str, hole: Hole) -> Proposal:
    times = "a frame" if hole.frames == 1 else f"{hole.frames} frames"
    where = "leader" if hole.is_in_leader else "the picture, near its end"
    width = hole.place[2]
    return Proposal(
        kind="marks",
        what=what,
        frame=hole.frame,
        frames=hole.frames,
        sure=hole.sure,
        why=f"A sharp disc of bare light, {width:.0%} of the picture wide, for {times} in {where}.",
        place=hole.place,
        amount=width,
        unit="picture widths",
    )


def _pips(look: Look, found: list[FoundPip], ends: Leaders) -> Iterator[Proposal]:
    for pip in found:
        is_outside = pip.frame < ends.head or pip.frame >= ends.tail
        rate = parse_rate(look.opened.reel.rate)
        if pip.frame < ends.head:
            where = f"{float((ends.head - pip.frame) / rate):.2f} s before the picture starts"
        else:
            where = "after the picture" if is_outside else "beside the picture"
        yield Proposal(
            kind="marks",
            what="sync pip",
            frame=pip.frame,
            sure=PIP if is_outside else TONE,
            why=f"A tone of {float(pip.seconds) * 1000:.0f} ms in the sound, {where}.",
            amount=float(pip.seconds),
            unit="seconds",
        )
