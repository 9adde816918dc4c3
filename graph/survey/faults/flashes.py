"""Flashes at splices: the last frames of a shot, or the first of the next, are lighter than the rest of it.

A camera exposes the frames on which it stops and starts for longer, and a splice may let light in. Each side
of a cut is held by itself against the straight course of its own shot's light, by repeated medians (A. F.
Siegel, "Robust regression using repeated medians", 1982): so neither the step from one shot to the next nor
light that rises is a flash, and what flickers as far is none either. A flash inside a shot is no fault: a
photographer's, or lightning (the numbers are our choice).
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.survey.alone import alone
from lamphouse.graph.survey.faults.splices import is_blended
from lamphouse.graph.survey.gains import gains, stops_of_levels
from lamphouse.graph.survey.look import Look
from lamphouse.graph.survey.proposal import Proposal

MOST: Final = 2  # frames that flash on either side
REST: Final = 10  # frames beside them by which the course of their shot is known
FEWEST: Final = 5  # of those
LEAST: Final = 0.25  # stops that they must be lighter: less is lost among what changes at a cut anyway
STANDS_OUT: Final = 2.7  # times what the frames of the course stray from it
MOSTLY: Final = 0.8  # of them: one may flash for a reason of its own
ALIKE: Final = 0.8  # correlation with the frame beside it that the same picture has, however bright
SURE: Final = 0.5  # stops from which it is sure

Small = NDArray[np.uint8]


class Flash(NamedTuple):
    """How many frames flash, and by how many stops the lightest of them is too light."""

    frames: int
    stops: float


def proposals(look: Look) -> Iterator[Proposal]:
    """Propose a mark on the frames that flash at each cut between two shots."""
    small, transfer = look.statistics.rows["small"], look.opened.reel.scan.colour.transfer
    inner = range(look.picture.start + 1, look.picture.stop)
    for shot, later in pairwise(look.shots):
        if later.first in inner and not is_blended(look, later):
            before = flash(small[alone(look, shot)][-REST - MOST :], transfer)
            after = flash(small[alone(look, later)][: REST + MOST][::-1], transfer)
            if before.frames or after.frames:
                yield _proposal(later.first, before, after)


def flash(small: Small, transfer: str) -> Flash:
    """Return the flash with which small pictures, (n, 3, rows, columns), end; it may have no frames."""
    from scipy.stats import siegelslopes

    if len(small) <= FEWEST:  # there is no course to stand out from
        return Flash(0, 0.0)
    light = np.cumsum(gains(small, transfer))
    for frames in range(MOST, 0, -1):
        rest = len(small) - frames
        if rest < FEWEST or not _is_same(small[rest - 1], small[-1], transfer):
            continue
        slope, start = siegelslopes(light[:rest])
        off = light - start - slope * np.arange(len(light))
        if off[rest:].min() >= max(LEAST, STANDS_OUT * float(np.quantile(np.abs(off[:rest]), MOSTLY))):
            return Flash(frames, float(off[rest:].max()))
    return Flash(0, 0.0)


def _is_same(one: Small, other: Small, transfer: str) -> bool:
    """Return whether two small pictures show the same: a cut that was placed a frame off is no flash."""
    stops = stops_of_levels(transfer)
    first, second = (stops[picture].mean(axis=0).ravel() for picture in (one, other))
    first, second = first - first.mean(), second - second.mean()
    return float(first @ second) >= ALIKE * float(np.linalg.norm(first) * np.linalg.norm(second))


def _proposal(cut: int, before: Flash, after: Flash) -> Proposal:
    first, frames = cut - before.frames, before.frames + after.frames
    stops = max(before.stops, after.stops)
    lit = f"Frame {first} is" if frames == 1 else f"Frames {first} to {first + frames - 1} are"
    return Proposal(
        kind="faults",
        what="splice flash",
        frame=first,
        frames=frames,
        sure=0.9 if stops >= SURE else 0.7,
        why=(
            f"{lit} {stops:.1f} stops lighter than the rest of the shot, at the splice before frame {cut}: "
            f"darken {'it' if frames == 1 else 'them'} alone, or leave {'it' if frames == 1 else 'them'} out."
        ),
        amount=round(stops, 2),
        unit="stops",
    )
