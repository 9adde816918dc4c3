"""Bad splices: at a change of shot the picture hops in the gate, and rests again after a frame or two.

The place of the picture in the first frames of a shot is held against the straight way that the frames after
them go: what a camera does is even, a hop is not. Weave is no hop: it has to stand out from how far the same
frames stray (all our choice).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.statistics.row import Rows
from lamphouse.graph.survey.look import Look, Shot
from lamphouse.graph.survey.proposal import Proposal
from lamphouse.graph.survey.steadiness.path import path_of

HOPS: Final = 2  # frames that hop
REST: Final = 10  # frames after those by which its way is known
LEAST: Final = 0.02  # picture heights that a splice must hop: weave stays below
STANDS_OUT: Final = 6.0  # times what the frames at rest stray
STEEP: Final = 0.004  # picture heights a frame, from which the camera moves too fast to tell
SURE: Final = 0.03  # picture heights from which it is sure

Path = NDArray[np.float64]


def proposals(look: Look) -> Iterator[Proposal]:
    """Propose a mark on the first frame of each shot that hops where it begins."""
    aspect = look.opened.reel.scan.aspect
    first, stop = look.picture.start, look.picture.stop
    for shot in (each for each in look.shots[1:] if first < each.first < stop):
        if shot.stop - shot.first < HOPS + REST or is_blended(look, shot):
            continue
        if hop := hopped(look.statistics.rows, shot, aspect):
            yield _proposal(shot, hop)


def is_blended(look: Look, shot: Shot) -> bool:
    """Return whether a shot begins in a dissolve or a fade, or beside its end."""
    return any(change.frame - change.frames - 1 <= shot.first <= change.frame + 1 for change in look.gradual)


def hopped(rows: Rows, shot: Shot, aspect: float) -> float:
    """Return by how many picture heights the first frame of a shot is too low; above it below 0; or 0."""
    own = slice(shot.first, shot.first + HOPS + REST)
    down = path_of(rows[own], aspect)[0][:, 1]
    at, rest = np.arange(len(down)), slice(HOPS, None)
    slope, start = np.polyfit(at[rest], down[rest], 1)
    off = down - start - slope * at
    hop, strays = float(off[0]), float(off[rest].std())
    is_hop = abs(hop) >= max(LEAST, STANDS_OUT * strays) and abs(slope) < STEEP
    return hop if is_hop else 0.0


def _proposal(shot: Shot, hop: float) -> Proposal:
    way = "below" if hop > 0 else "above"
    return Proposal(
        kind="faults",
        what="bad splice",
        frame=shot.first,
        sure=0.9 if abs(hop) >= SURE else 0.7,
        why=(
            f"Behind the splice the picture stands {abs(hop):.1%} of its height {way} its place, "
            "so see whether the splice holds before the film is run again."
        ),
        amount=round(100 * abs(hop), 1),
        unit="% of the picture's height",
    )
