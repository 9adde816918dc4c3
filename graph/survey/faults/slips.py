"""Slips of the scanner: frames that it took twice, and frames that it left out.

Two frames of film never have the same grain, so a frame that differs from the one before by far less than all
of its neighbours from theirs is that one again, however still the scene is. Where frames are left out the
picture leaps by as many steps: seen only where it moves evenly before and after, and farther than a picture
weaves in the gate (all our choice).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from lamphouse.graph.media.statistics.row import Rows
from lamphouse.graph.survey.alone import alone
from lamphouse.graph.survey.faults.moved import Shifts, shifts
from lamphouse.graph.survey.look import Look
from lamphouse.graph.survey.proposal import Proposal

AROUND: Final = 3  # frames on either side that a frame is held against
SAME: Final = 0.2  # of the least difference among them, below which it is the same grain
LEAST: Final = 3e-4  # of the range, by which these must differ: else there is no grain to tell by
EVENLY: Final = 7  # frames on either side through which the picture moves evenly
STEP: Final = 0.002  # share of the picture that it moves in each of them, at least
LEAP: Final = 2.2  # steps at once from which frames are missing
HOP: Final = 0.007  # share of the picture that such a leap exceeds a step by: what weaves may hop less
STANDS_OUT: Final = 4.5  # times the spread of the steps around it, that such a leap must exceed them
ALIKE: Final = 0.4  # of a step that both sides must have
MANY: Final = 4  # slips of a shot from which one mark stands for all


def proposals(look: Look) -> Iterator[Proposal]:
    """Propose a mark on each frame that was scanned twice and where frames are missing; one on a shot of
    many.
    """
    rows = look.statistics.rows
    for shot in look.shots:
        seen = alone(look, shot)
        twice = doubled(rows, seen)
        if len(twice) >= MANY:
            yield _pattern(twice)
        else:
            yield from map(_doubled, twice)
        for frame, lacking in missing(rows, seen):
            if frame - 1 not in twice:
                yield _missing(frame, lacking)


def doubled(rows: Rows, seen: slice) -> list[int]:
    """Return the frames of some that are the one before again."""
    own = slice(seen.start + 1, seen.stop)
    apart = np.where(rows["ok"][own] > 0, rows["apart"][own], np.inf)
    found = []
    for at in np.flatnonzero(apart < np.inf):
        near = np.concatenate([apart[max(0, at - AROUND) : at], apart[at + 1 : at + 1 + AROUND]])
        if len(near) >= AROUND and near.min() > LEAST and apart[at] < SAME * near.min():
            found.append(seen.start + 1 + int(at))
    return found


def missing(rows: Rows, seen: slice) -> list[tuple[int, int]]:
    """Return before which frames of some others are missing, and how many; only where the picture moves
    evenly.
    """
    if seen.stop - seen.start < 2 * EVENLY + 2:
        return []
    moved = shifts(rows[seen])
    found = []
    for at in range(1 + EVENLY, len(moved) - EVENLY):
        steps = _leap(moved, at)
        if steps >= LEAP:
            found.append((seen.start + at, round(steps) - 1))
    return found


def _leap(moved: Shifts, at: int) -> float:
    """Return how many of the steps around it the picture makes at a frame, along their way; 0 where that is
    usual.
    """
    near = np.concatenate([moved[at - EVENLY : at], moved[at + 1 : at + 1 + EVENLY]])
    step = np.median(near, axis=0)
    length = float(np.hypot(*step))
    if length < STEP:
        return 0.0
    along, leap = near @ step / length, float(moved[at] @ step) / length
    spread = float(along.std())
    sides = min(np.median(along[:EVENLY]), np.median(along[EVENLY:]))
    is_leap = leap - length > max(HOP, STANDS_OUT * spread) and sides > ALIKE * length
    return leap / length if is_leap else 0.0


def _doubled(frame: int) -> Proposal:
    why = f"Frame {frame} has the very grain of frame {frame - 1}: the scanner took one frame of film twice."
    return Proposal(
        kind="faults", what="doubled frame", frame=frame, sure=0.95, why=why, amount=1, unit="frames"
    )


def _pattern(twice: list[int]) -> Proposal:
    return Proposal(
        kind="faults",
        what="doubled frames",
        frame=twice[0],
        frames=twice[-1] - twice[0] + 1,
        sure=0.95,
        why=(
            f"{len(twice)} frames from {twice[0]} to {twice[-1]} have the very grain of the one before: film "
            "was scanned at another rate than it ran, or the scanner stuck."
        ),
        amount=len(twice),
        unit="frames",
    )


def _missing(frame: int, lacking: int) -> Proposal:
    frames = "frame is" if lacking == 1 else "frames are"
    return Proposal(
        kind="faults",
        what="missing frames",
        frame=frame,
        sure=0.8,
        why=(
            f"The picture moves evenly, and {lacking + 1} steps at once before frame {frame}: some {lacking} "
            f"{frames} missing there."
        ),
        amount=lacking,
        unit="frames",
    )
