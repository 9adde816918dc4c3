"""What a new movie is woven of: an old one and, in some places, pieces that were made anew."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import NamedTuple

from lamphouse.graph.media.codes.raster import Shape
from lamphouse.graph.reel.records import Delivery
from lamphouse.nodes.errors import CheckFailed


class Piece(NamedTuple):
    """Frames of a movie, made anew: a movie of their own. `times` are theirs in the whole, in order.

    Where the sound beside them is replaced too, `sound` are its samples in the whole.
    """

    frames: range
    path: Path
    times: Sequence[int] | None = None  # ticks; None where packets lie in the order in which they are shown
    sound: range | None = None


class Cloth(NamedTuple):
    """What is woven: the old movie, its pieces in order, its delivery, rate and shape."""

    old: Path
    pieces: Sequence[Piece]
    delivery: Delivery
    rate: Fraction
    shape: Shape


def fault(cloth: Cloth, what: str) -> CheckFailed:
    """Return what is to be said where the new movie would not be the old one in everything else."""
    return CheckFailed(
        f"The new {cloth.old.name} is not the old one but for what was made anew, for {what}; the old one "
        "stays as it was: transfer the reel again."
    )
