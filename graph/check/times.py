"""When each picture of a master is shown, against when it should be."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from lamphouse.graph.check.findings import Finding, Names


def of_times(
    times: Sequence[Fraction | None], places: Sequence[int | None], rate: Fraction, names: Names
) -> Iterator[Finding]:
    """Yield the frames, in runs, that are not shown at their time: frame n at n / `rate` seconds.

    `places` says which frame each picture stands for, None for pictures too many, which have no time.
    """
    first = stop = 0
    late = Fraction(0)
    for time, place in zip(times, places, strict=True):
        if time is None or place is None:
            continue
        off = time - place / rate
        if off != late or place != stop:
            yield from _finding(first, stop, late, names)
            first, late = place, off
        stop = place + 1
    yield from _finding(first, stop, late, names)


def _finding(first: int, stop: int, late: Fraction, names: Names) -> Iterator[Finding]:
    if late and stop > first:
        verb = "is" if stop - first == 1 else "are"
        how = f"{float(abs(late)):.3f} s {'late' if late > 0 else 'early'}"
        yield names.finding("time", first, stop, f"{verb} shown {how}")
