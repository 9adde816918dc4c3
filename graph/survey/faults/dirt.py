"""Dirt: specks of single frames, counted by shot.

The gauge has found what differs from both neighbours in time. What flies or falls through the picture does
too; it is told from dirt by where it is in the frame before and the frame after: dirt is nowhere near (our
choice).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.statistics.row import Rows
from lamphouse.graph.survey.look import Look, Shot
from lamphouse.graph.survey.proposal import Proposal

NEAR: Final = 0.03  # of the picture, within which the same thing may be a frame later (all our choice)
ALIKE: Final = 2.0  # times the contrast, within which it is the same thing
LEAST: Final = 3.0  # specks a frame from which a shot is said to be dirty: every film has some
SURE: Final = 4.0  # from which that is sure

Place = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True, eq=False)
class Dirt:
    """What lies on a shot: specks a frame, the share of the picture that they cover, the worst frame.

    `places` are its: left, top, width, height in shares of the picture, the largest first.
    """

    bright: float
    dark: float
    area: float
    worst: int
    places: tuple[Place, ...]


def proposals(look: Look) -> Iterator[Proposal]:
    """Propose a mark on each shot that is dirty: one with all its figures; leaders may be so."""
    rows = look.statistics.rows
    first, stop = look.picture.start, look.picture.stop
    is_dirt = specks(rows)
    for shot in (each for each in look.shots if first < each.stop and each.first < stop):
        found = dirt(rows, is_dirt, shot)
        if found.bright + found.dark >= LEAST:
            yield _proposal(shot, found)


def specks(rows: Rows) -> NDArray[np.bool_]:
    """Return which of the places of each frame, (frames, n), are dirt and not a thing that moves."""
    places = rows["speck_places"].astype(np.float32)
    is_speck = places[..., 2] > 0
    is_followed = np.zeros_like(is_speck)
    for earlier in (1, 2):
        same = _same(places[:-earlier], places[earlier:])
        is_followed[:-earlier] |= same.any(axis=2)
        is_followed[earlier:] |= same.any(axis=1)
    return is_speck & ~is_followed


def _same(first: NDArray[np.float32], second: NDArray[np.float32]) -> NDArray[np.bool_]:
    """Return which of the places of some frames may be which of others, (frames, n, n)."""
    one, other = first[:, :, None], second[:, None]
    apart = np.abs(one[..., :2] + one[..., 2:4] / 2 - other[..., :2] - other[..., 2:4] / 2).max(axis=-1)
    ratio = one[..., 4] / np.where(other[..., 4], other[..., 4], np.inf)
    is_there = (one[..., 2] > 0) & (other[..., 2] > 0)
    return np.asarray(is_there & (apart < NEAR) & (ratio < ALIKE) & (ratio > 1 / ALIKE))


def dirt(rows: Rows, is_dirt: NDArray[np.bool_], shot: Shot) -> Dirt:
    """Count what lies on a shot. `is_dirt` is what `specks` returns."""
    frames = slice(shot.first, shot.stop)
    places, kept = rows["speck_places"][frames].astype(np.float32), is_dirt[frames]
    shown = np.maximum(1, np.count_nonzero(places[..., 2] > 0, axis=1))
    share = np.count_nonzero(kept, axis=1) / shown  # what is said of those that were kept holds for the rest
    counts, area = rows["specks"][frames] * share[:, None], rows["speck_area"][frames] * share
    bright, dark = counts.mean(axis=0)
    worst = int(np.argmax(area))
    largest = places[worst][kept[worst]][:, :4].tolist()
    found = tuple((left, top, wide, high) for left, top, wide, high in largest)
    return Dirt(float(bright), float(dark), float(area.mean()), shot.first + worst, found)


def _proposal(shot: Shot, found: Dirt) -> Proposal:
    many = found.bright + found.dark
    return Proposal(
        kind="faults",
        what="dirt",
        frame=shot.first,
        frames=shot.stop - shot.first,
        sure=0.9 if many >= SURE else 0.7,
        why=(
            f"Some {many:.1f} specks a frame ({found.bright:.1f} bright, {found.dark:.1f} dark) cover "
            f"{1e6 * found.area:.0f} millionths of the picture, most of all in frame {found.worst}."
        ),
        place=found.places[0] if found.places else None,
        amount=round(many, 1),
        unit="specks a frame",
    )
