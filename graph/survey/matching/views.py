"""Shots of a scene by the view that they show: where it goes to and fro between views each is evened alone.

What two views have in common in colour says nothing of their light: a face is no landscape. Where each comes
back its shots are held against one another; where a scene goes on they are held against their neighbours.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.survey.changes.motion import shifted

ALIKE: Final = 0.6  # mean likeness from which shots show one view (our choice)
SHIFT: Final = 6  # part of the picture by which a view may have moved, either way (our choice)

Array = NDArray[np.float64]
Pictures = Sequence[NDArray[Any]]  # of one shot, each (3, rows, columns) of the scan's own signal


def strands(shots: Sequence[Pictures]) -> list[list[int]]:
    """Return the places of shots that are to be even among themselves, each in order; none is in two.

    All of them are one strand, unless at least two views come back after another: then each view is one.
    Pictures of all shots have one size.
    """
    views = _views([_plans(pictures) for pictures in shots])
    back = [places for places in views if places[-1] - places[0] >= len(places)]
    return views if len(back) > 1 else [list(range(len(shots)))]


def likenesses(plans: Array) -> Array:
    """Return how each of `plans` (n, rows, columns) correlates with each, at the best shift by a sixth."""
    far = [side // SHIFT for side in plans.shape[1:]]
    best = np.full((len(plans), len(plans)), -1.0)
    for down in range(-far[0], far[0] + 1):
        for right in range(-far[1], far[1] + 1):
            one, other = (_even(shifted(plans, way * down, way * right)) for way in (1, -1))
            best = np.maximum(best, one @ other.T)
    return best


def _views(shots: Sequence[Array]) -> list[list[int]]:
    """Return the places of each view, in order: groups that are alike in the mean of their shots.

    Sokal and Michener, "A statistical method for evaluating systematic relationships" (1958).
    """
    from scipy.cluster.hierarchy import fcluster, linkage
    from scipy.spatial.distance import squareform

    starts = np.cumsum([0, *(len(plans) for plans in shots[:-1])])
    alike = likenesses(np.concatenate(shots))
    alike = np.maximum.reduceat(np.maximum.reduceat(alike, starts, axis=0), starts, axis=1)
    apart = squareform(np.maximum(1 - alike, 0), checks=False)
    views: dict[int, list[int]] = {}
    for place, group in enumerate(fcluster(linkage(apart, "average"), 1 - ALIKE, "distance")):
        views.setdefault(int(group), []).append(place)
    return list(views.values())


def _plans(pictures: Pictures) -> Array:
    """Return what is where in the first, the middle and the last, (pictures, rows, columns).

    It is the ranks of luminance, which no gain, gamma or lift changes, but for an even slope: most pictures
    have their light above.
    """
    from scipy.stats import rankdata

    chosen = sorted({0, len(pictures) // 2, len(pictures) - 1})
    plans = [np.asarray(pictures[number]).mean(axis=0) for number in chosen]
    return np.stack([_flat(rankdata(plan).reshape(plan.shape) / plan.size) for plan in plans])


def _flat(plan: Array) -> Array:
    rows, columns = np.indices(plan.shape)
    slope = np.stack([np.ones(plan.size), rows.ravel(), columns.ravel()], axis=1)
    return plan - (slope @ np.linalg.lstsq(slope, plan.ravel(), rcond=None)[0]).reshape(plan.shape)


def _even(plans: Array) -> Array:
    """Return each about its mean and of length 1, (n, cells); 0 where it is flat."""
    part = plans.reshape(len(plans), -1)
    part = part - part.mean(axis=1, keepdims=True)
    return np.asarray(part / np.maximum(np.linalg.norm(part, axis=1, keepdims=True), 1e-12))
