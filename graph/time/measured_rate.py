"""Frame rates as files state them, made exact.

Headers keep 24000/1001 as a float or in rounded ticks; a rate that is off by a millionth
drifts a frame in half a day.
"""

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from statistics import median
from typing import Final

# The whole rates of film and video, and those of colour television.
KNOWN: Final = (
    *(Fraction(n) for n in range(1, 121)),
    *(Fraction(n * 1000, 1001) for n in (24, 30, 48, 60, 120)),
)


def exact_rate(stated: float | Fraction | None) -> Fraction | None:
    """Return a stated rate as the known one within 0.01 %, else as the nearest simple fraction, or None."""
    if stated is None or not 0 < stated < 1e6:
        return None
    rate = Fraction(stated)
    nearest = min(KNOWN, key=lambda known: abs(known - rate))
    if abs(nearest - rate) <= rate / 10000:
        return nearest
    return rate.limit_denominator(1001)


def uneven_frames(stamps: Sequence[int]) -> list[int]:
    """Return the frames before which a step of time is a fifth off the middle one, or runs backwards.

    Containers that keep milliseconds round steps by less.
    """
    steps = [after - before for before, after in pairwise(stamps)]
    usual = median(steps) if steps else 0
    return [frame for frame, step in enumerate(steps, 1) if step <= 0 or abs(step - usual) > usual / 5]


def measured_rate(stamps: Sequence[int], time_base: Fraction) -> Fraction | None:
    """Return frames per second over all stamps, or None for fewer than two."""
    if len(stamps) < 2 or stamps[-1] <= stamps[0]:
        return None
    return (len(stamps) - 1) / ((stamps[-1] - stamps[0]) * time_base)
