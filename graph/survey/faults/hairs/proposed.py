"""What is said of hairs in the gate: one mark a hair, however many shots it stands in.

A hair is bent, or leans. What runs straight along the film or across it may be a scratch, a frame line, the
edge of the gate, or what a camera follows: it counts as a hair only where it stands in from an edge, ends in
the picture, and outlasts changes of shot. The longer a thing is, the fewer pictures show that chance has no
part in it; inside the picture it takes more of them (all our choice).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from lamphouse.graph.survey.faults.hairs.found import PICTURES, Hair, Search
from lamphouse.graph.survey.faults.hairs.standing import Cells, Samples, samples_of, seen
from lamphouse.graph.survey.look import Look
from lamphouse.graph.survey.proposal import Proposal

STRAIGHT: Final = 0.55  # of its cells, in one row or one column, from which it runs across or along the film
SLIGHT: Final = 1 / 6  # of its length, which it leans at most where it does so
CORNER: Final = 0.85  # of them, along one row and one column, from which it is the corner of a frame
ARM: Final = 10  # cells that each of the two is long at least
EDGE: Final = 4  # cells from the edge of what is lit
LIT: Final = 0.06  # of the range, which a cell shows now and then where light comes through
ENOUGH: Final = 28  # cells that it is long, times pictures that it stands before
INSIDE: Final = 2  # times as many, where it is not at an edge
SURE: Final = 1.5  # times as many as enough


def proposals(look: Look) -> Iterator[Proposal]:
    """Propose a mark on each hair, from where it comes to where it goes."""
    samples = samples_of(look.statistics)
    if len(samples.frames) < PICTURES:
        return
    search, lit = Search(samples), samples.light.max(axis=0) >= LIT
    for bright in (False, True):
        for hair in search.hairs(seen(samples, look.statistics.rows, bright=bright), bright=bright):
            at_edge = bool((hair.cells & _near_edge(lit)).any())
            shown = weight(hair.cells, lit, hair.pictures, _shots(look, samples, hair))
            if (enough := shown / (ENOUGH if at_edge else INSIDE * ENOUGH)) >= 1:
                yield _proposal(look, samples, hair, at_edge, enough >= SURE)


def weight(cells: Cells, lit: Cells, pictures: int, shots: int) -> int:
    """Return how much speaks for a hair: its length in cells times the pictures that it stands before.

    0 where it runs like something else. `lit` are the cells in which the gate lets light through.
    """
    rows, columns = np.nonzero(cells)
    high, wide = int(np.ptp(rows)) + 1, int(np.ptp(columns)) + 1
    at_row, at_column = (int(np.bincount(each).argmax()) for each in (rows, columns))
    most = max(np.mean(rows == at_row), np.mean(columns == at_column))
    if most >= STRAIGHT or min(high, wide) <= SLIGHT * max(high, wide):
        pictures = min(pictures, shots) if _stands_in(cells, lit, along=high > wide) else 0
    is_arm = (abs(rows - at_row) <= 1) | (abs(columns - at_column) <= 1)
    if min(high, wide) >= ARM and np.mean(is_arm) >= CORNER:
        return 0
    return max(high, wide) * pictures


def _stands_in(cells: Cells, lit: Cells, *, along: bool) -> bool:
    """Return whether what runs straight begins at an edge that it does not run along, and ends inside."""
    ends = _edges(lit, axis=0 if along else 1)
    beside = _edges(lit, axis=1 if along else 0)
    begins, stops = (bool((cells & end).any()) for end in ends)
    return begins != stops and not any((cells & side).any() for side in beside)


def _near_edge(lit: Cells) -> Cells:
    return np.asarray(np.any([*_edges(lit, axis=0), *_edges(lit, axis=1)], axis=0))


def _edges(lit: Cells, axis: int) -> tuple[Cells, Cells]:
    """Return the cells near the first and near the last that are lit in each column (axis 0), or row."""
    order = np.cumsum(lit, axis=axis)
    back = np.cumsum(np.flip(lit, axis), axis=axis)
    return order <= EDGE, np.flip(back, axis) <= EDGE


def _shots(look: Look, samples: Samples, hair: Hair) -> int:
    """Return in how many shots there is something of a hair."""
    first, last = samples.frames[hair.first], samples.frames[hair.last]
    return sum(shot.first <= last and first < shot.stop for shot in look.shots)


def _proposal(look: Look, samples: Samples, hair: Hair, at_edge: bool, is_sure: bool) -> Proposal:
    first = int(samples.frames[hair.first])
    after = samples.frames[hair.last + 1 : hair.last + 2].tolist()
    stop = int(after[0]) if after else look.statistics.frames
    place = _place(hair.cells)
    area = 100 * float(hair.cells.mean())
    where = f"in from the {_side(place)}" if at_edge else "inside the picture"
    return Proposal(
        kind="faults",
        what="hair in the gate",
        frame=first,
        frames=stop - first,
        sure=0.9 if is_sure else 0.7,
        why=(
            f"Something thin and {'bright' if hair.bright else 'dark'} stands still {where} before "
            f"{hair.pictures} different pictures and touches {area:.1f} % of the frame: see that the gate is "
            "clean, and scan these frames again where it was the scanner's."
        ),
        place=place,
        amount=round(area, 2),
        unit="% of the picture",
    )


def _place(cells: Cells) -> tuple[float, float, float, float]:
    """Return left, top, width and height of cells as shares of the picture."""
    rows, columns = np.nonzero(cells)
    (high, wide), (top, left) = cells.shape, (int(rows.min()), int(columns.min()))
    return (
        left / wide,
        top / high,
        (int(columns.max()) + 1 - left) / wide,
        (int(rows.max()) + 1 - top) / high,
    )


def _side(place: tuple[float, float, float, float]) -> str:
    """Return the edge that a place is nearest to."""
    left, top, width, height = place
    gaps = {"left": left, "top": top, "right": 1 - left - width, "bottom": 1 - top - height}
    return min(gaps, key=lambda side: gaps[side])
