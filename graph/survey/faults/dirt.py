"""Dirt: specks of single frames, counted by shot.

The gauge has found what differs from both neighbours in time. What flies or falls through the picture does
too; it is told from dirt by where it is in the frame before and the frame after: dirt is nowhere near. Of
what moves some is always missed, so where much was told apart nothing is counted: dirt falls everywhere
alike, and the rest of the picture stands for it. Dissolves and fades are left out (our choice).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.statistics.row import Rows
from lamphouse.graph.survey.alone import alone
from lamphouse.graph.survey.look import Look
from lamphouse.graph.survey.proposal import InFrame, Place, Proposal

NEAR: Final = 0.03  # of the picture, within which the same thing may be a frame later (all our choice)
ALIKE: Final = 2.0  # times the contrast, within which it is the same thing
LEAST: Final = 3.0  # specks a frame from which a shot is said to be dirty: every film has some
SURE: Final = 4.0  # from which that is sure
WORST: Final = 3  # frames that are named
AREAS: Final = (3, 4)  # rows and columns of areas that are asked how much moves there
MOVED: Final = 2  # specks of a shot, told from dirt in an area, from which something moves there
OF_DIRT: Final = 1 / 4  # of the dirt there, by which they are too many to tell
ENOUGH: Final = 1 / 3  # of the areas that must be left: else all are counted

Where = NDArray[np.bool_]


def proposals(look: Look) -> Iterator[Proposal]:
    """Propose a mark on each shot that is dirty: one with all its figures; leaders may be so."""
    rows = look.statistics.rows
    first, stop = look.picture.start, look.picture.stop
    is_dirt = specks(rows)
    for shot in (each for each in look.shots if first < each.stop and each.first < stop):
        seen = alone(look, shot)
        is_still, share = still(rows[seen], is_dirt[seen])
        is_told = is_dirt[seen] & is_still
        counts, area = (figure / share for figure in covered(rows[seen], is_told))
        if counts.sum(axis=1).mean() >= LEAST:
            by_frame = tuple(
                InFrame(
                    frame=seen.start + int(at),
                    amount=round(float(counts[at].sum()), 1),
                    area=round(float(area[at]), 4),
                    places=_boxes(rows["speck_places"][seen][at][is_told[at]]),
                )
                for at in np.flatnonzero(is_told.any(axis=1))
            )
            yield _proposal(seen, counts.mean(axis=0), float(area.mean()), by_frame)


def specks(rows: Rows) -> Where:
    """Return which of the places of each frame, (frames, n), are dirt and not a thing that moves."""
    places = rows["speck_places"].astype(np.float32)
    is_speck = places[..., 2] > 0
    is_followed = np.zeros_like(is_speck)
    for earlier in (1, 2):
        same = _same(places[:-earlier], places[earlier:])
        is_followed[:-earlier] |= same.any(axis=2)
        is_followed[earlier:] |= same.any(axis=1)
    return is_speck & ~is_followed


def _same(first: NDArray[np.float32], second: NDArray[np.float32]) -> Where:
    """Return which of the places of some frames may be which of others, (frames, n, n)."""
    one, other = first[:, :, None], second[:, None]
    apart = np.abs(one[..., :2] + one[..., 2:4] / 2 - other[..., :2] - other[..., 2:4] / 2).max(axis=-1)
    ratio = one[..., 4] / np.where(other[..., 4], other[..., 4], np.inf)
    is_there = (one[..., 2] > 0) & (other[..., 2] > 0)
    return np.asarray(is_there & (apart < NEAR) & (ratio < ALIKE) & (ratio > 1 / ALIKE))


def covered(rows: Rows, is_dirt: Where) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return how many bright and dark specks lie on each frame, (frames, 2), and what share of the picture
    they cover in %, (frames,). `is_dirt` is what `specks` returns.
    """
    shown = np.maximum(1, np.count_nonzero(rows["speck_places"][..., 2] > 0, axis=1))
    share = (
        np.count_nonzero(is_dirt, axis=1) / shown
    )  # what is said of those that were kept holds for the rest
    return rows["specks"] * share[:, None], 100 * rows["speck_area"] * share


def still(rows: Rows, is_dirt: Where) -> tuple[Where, float]:
    """Return which places of a shot's frames, (frames, n), lie where little moves, and its share of the
    picture.
    """
    places = rows["speck_places"].astype(np.float32)
    left, top, wide, high, _ = np.moveaxis(places, -1, 0)
    down, across = (
        np.clip(count * (begin + side / 2), 0, count - 1).astype(np.intp)
        for count, begin, side in zip(AREAS, (top, left), (high, wide), strict=True)
    )
    at, many = down * AREAS[1] + across, AREAS[0] * AREAS[1]
    moved = np.bincount(at[(wide > 0) & ~is_dirt], minlength=many)
    is_still = (moved < MOVED) | (moved <= OF_DIRT * np.bincount(at[is_dirt], minlength=many))
    if is_still.mean() < ENOUGH:
        is_still[:] = True
    return is_still[at], float(is_still.mean())


def _boxes(places: NDArray[np.float16]) -> tuple[Place, ...]:
    """Return the places of specks, the largest first."""
    sides = places[:, :4].astype(np.float64).round(4).tolist()
    return tuple((left, top, wide, high) for left, top, wide, high in sides)


def _proposal(seen: slice, each: NDArray[np.float64], area: float, by_frame: tuple[InFrame, ...]) -> Proposal:
    """Return what is said of a shot, by bright and dark specks a frame, and the frames with any."""
    many = float(each.sum())
    worst = sorted(by_frame, key=lambda one: -one.area)[:WORST]
    named = ", ".join(f"{one.frame} ({one.area:.2g} %)" for one in worst)
    return Proposal(
        kind="faults",
        what="dirt",
        frame=seen.start,
        frames=seen.stop - seen.start,
        sure=0.9 if many >= SURE else 0.7,
        why=(
            f"Some {many:.1f} specks a frame ({each[0]:.1f} bright, {each[1]:.1f} dark) cover {area:.2g} % "
            f"of the picture, most of it in frame{'s' if len(worst) > 1 else ''} {named}."
        ),
        place=worst[0].places[0],
        amount=round(many, 1),
        unit="specks a frame",
        by_frame=by_frame,
    )
