"""Signs of decay: film that no longer lies flat, so that one side of the picture is out of focus in the
scanner.

By grain, which is on the film and not before the camera: where it is finer on one side than on the other in
shot after shot, whatever they show, that side did not lie in focus. A scanner out of line does the same, and
is named as well. The flattest areas show grain alone (as in `soft`); the numbers are our choice.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.statistics.gauges.detail import distances, energy_of
from lamphouse.graph.media.statistics.row import Rows
from lamphouse.graph.survey.alone import alone
from lamphouse.graph.survey.faults.soft import LEAST_FRAMES, SAMPLES, SHOWN_GRAIN
from lamphouse.graph.survey.look import Look
from lamphouse.graph.survey.proposal import Proposal

SIDE: Final = 5  # columns of areas, of the sixteen, that are one side
FLATTEST: Final = 0.1  # of a side's areas: what they have is grain
LEAST: Final = 0.4  # octaves by which the grain of one side must be softer, in the middle of all shots
SHOTS: Final = 5  # that must show their grain
AGREE: Final = 0.8  # of them, in which it is the same side
SURE: Final = 0.7  # a scanner out of line looks alike
CAUTION: Final = (
    "if it smells of vinegar or may be nitrate, follow your local rules and leave it to people licensed to "
    "handle it"
)


def proposals(look: Look) -> Iterator[Proposal]:
    """Propose one mark on a reel whose film did not lie flat, with what to take care of."""
    if len(set(distances(look.opened.reel.scan.height)[:2])) == 1:
        return
    rows = look.statistics.rows
    leans = [lean for shot in look.shots if (lean := leaning(rows[alone(look, shot)])) is not None]
    if len(leans) < SHOTS:
        return
    middle = float(np.median(leans))
    agreed = np.mean(np.sign(middle) * np.array(leans) > LEAST / 2)
    if abs(middle) >= LEAST and agreed >= AGREE:
        yield _proposal(look, middle, len(leans))


def leaning(rows: Rows) -> float | None:
    """Return by how many octaves the grain of a shot is finer on the left than on the right, or None where
    none is seen.
    """
    if len(rows) < LEAST_FRAMES:
        return None
    energy = energy_of(rows["detail"][:: max(1, len(rows) // SAMPLES)])[:, :, 1:-1]
    left, right = (_fineness(energy[..., side]) for side in (slice(1, 1 + SIDE), slice(-1 - SIDE, -1)))
    return float(np.log2(left / right)) if left and right else None


def _fineness(energy: NDArray[np.float32]) -> float:
    """Return the energy of grain over one pixel by that over the shorter distance; 0 where none is seen."""
    least, near = np.median(energy, axis=0)[:2].reshape(2, -1)
    is_grain = (near > SHOWN_GRAIN) & (near <= np.quantile(near, FLATTEST))
    return float(np.median(least[is_grain] / near[is_grain])) if is_grain.any() else 0.0


def _proposal(look: Look, middle: float, shots: int) -> Proposal:
    lost = round(100 * (1 - 2 ** -abs(middle)))
    side, left = ("right", 1 - SIDE / 16) if middle > 0 else ("left", 0.0)
    return Proposal(
        kind="faults",
        what="film that is not flat",
        frame=look.shots[0].first,
        frames=look.shots[-1].stop - look.shots[0].first,
        sure=SURE,
        why=(
            f"In most of {shots} shots grain on the {side} lacks {lost} % of its fineness, so film or "
            f"scanner is out of line there: decaying film warps, so before it is run again: {CAUTION}."
        ),
        place=(left, 0.0, SIDE / 16, 1.0),
        amount=lost,
        unit="%",
    )
