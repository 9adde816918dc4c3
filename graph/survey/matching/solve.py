"""Settings of shots that bring pairs of them as near to each other as their chains can.

Gauss and Newton's steps, damped (Marquardt, "An Algorithm for Least-Squares Estimation of Nonlinear
Parameters", 1963), on the quantiles of each pair. What only one of two shows counts less from stage to stage,
as the two come nearer and what they have in common is seen better. Of several pairs the farthest count most:
least is the mean of a power of their distances, for which each is weighed anew at every step (Rice and Usow,
"The Lawson algorithm and extensions", 1968).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Protocol

import numpy as np

from lamphouse.graph.survey.matching.distance import COUNT, Array, Lab, Slices, slices
from lamphouse.graph.survey.matching.overlap import common, shared

# Two ways to begin, for either may lead astray: from all that two show, as though their contents were alike,
# or from what they have in common as they are, with small moves. Who finds more in common goes on. Of each
# stage: cells by which colours are taken for one another (None: all count), and how much more moves cost (our
# choice).
WHOLE: Final = ((None, 1.0), (2.0, 1.0))
CAUTIOUS: Final = ((3.0, 6.0), (2.0, 2.5))
END: Final = ((1.2, 1.0), (0.8, 1.0))
# A scene has no such end: seen so narrowly each of its pairs errs a little, and the errors add up along it.
SCENE: Final = ((None, 1.0), (3.0, 1.0))
NARROW: Final = END[-1][0]  # by this much ways are told apart
POWER: Final = 4.0  # of the distances of several pairs, whose mean is least
STEPS: Final = 5  # of each stage at most
TRIES: Final = 4  # to find a step that helps
ENOUGH: Final = 1e-3  # of what is left: a step that gains less is the last of its stage
SLOPE: Final = 1e-3  # of the usual way of a number: what is taken for a derivative
# What it costs to move a number by its usual way, in units of CIELAB: contents that differ are no reason to
# go far, and what no picture shows is left as it is. Tried on photographs (our choice).
COST: Final = 0.4
TOGETHER: Final = 20.0  # and what it costs that all shots move alike, where the whole is to stay

Pair = tuple[int, int]
Weights = tuple[Array, Array]


class Side(Protocol):
    """One of the pictures of a pair."""

    @property
    def usual(self) -> Array:
        """How far each of its numbers is moved as a matter of course, (n,); none of what stays as it is."""
        ...

    def lab(self, by: Array) -> Lab:
        """Return it in CIELAB, (pixels, 3), once its numbers have moved by `by` (n,)."""
        ...


@dataclass(frozen=True, eq=False)
class Solved:
    """How far the numbers of each side move, its picture then, and by what each pair was weighed."""

    moves: list[Array]
    labs: list[Lab]
    weights: list[Weights]


def solved(sides: Sequence[Side], pairs: Sequence[Pair]) -> Solved:
    """Return the moves after which pairs of `sides` are nearest."""
    at_rest = _still(sides, pairs)
    ways = [_through(stages, at_rest, sides, pairs, False) for stages in (WHOLE, CAUTIOUS)]
    nearer = _through(END, max(ways, key=_common), sides, pairs, False)
    return max(nearer, *ways, key=_common)


def solved_scene(sides: Sequence[Side], pairs: Sequence[Pair]) -> Solved:
    """Return the moves after which the farthest pairs of `sides` are nearest, while the mean move is none.

    None moves where none find more in common than there was.
    """
    at_rest = _still(sides, pairs)
    ways = [_through(stages, at_rest, sides, pairs, True) for stages in (SCENE, CAUTIOUS)]
    best = max(at_rest, *ways, key=_common)
    return replace(best, weights=_weighed(best.labs, pairs, SCENE[-1][0]))


def _still(sides: Sequence[Side], pairs: Sequence[Pair]) -> Solved:
    moves = [np.zeros(len(side.usual)) for side in sides]
    labs = [side.lab(by) for side, by in zip(sides, moves, strict=True)]
    return Solved(moves, labs, _weighed(labs, pairs, NARROW))


def _through(
    stages: Sequence[tuple[float | None, float]],
    found: Solved,
    sides: Sequence[Side],
    pairs: Sequence[Pair],
    whole_stays: bool,
) -> Solved:
    moves, labs = found.moves, found.labs
    for soft, cost in stages:
        weights = _weighed(labs, pairs, soft)
        moves, labs = _Stage(sides, pairs, weights, cost * COST, whole_stays).run(moves, labs)
    return Solved(moves, labs, _weighed(labs, pairs, NARROW))


def _weighed(labs: Sequence[Lab], pairs: Sequence[Pair], soft: float | None) -> list[Weights]:
    if soft is None:
        return [(np.ones(len(labs[i])), np.ones(len(labs[j]))) for i, j in pairs]
    return [shared(labs[i], labs[j], soft) for i, j in pairs]


def _common(found: Solved) -> float:
    """Return how much the pairs have in common, by which ways are told apart."""
    return sum(common(mine) + common(theirs) for mine, theirs in found.weights)


class _Stage:
    """The least squares of one stage, over the numbers of all sides one behind the other."""

    def __init__(
        self,
        sides: Sequence[Side],
        pairs: Sequence[Pair],
        weights: Sequence[Weights],
        cost: float,
        whole_stays: bool,
    ) -> None:
        self._sides, self._pairs, self._weights = sides, pairs, weights
        self._usual = np.concatenate([side.usual for side in sides])
        self._starts = np.cumsum([0, *(len(side.usual) for side in sides)])
        self._costs = cost * np.eye(len(self._usual)) / self._usual
        if whole_stays:
            same = np.concatenate([np.eye(len(side.usual)) for side in sides], axis=1) / len(sides)
            self._costs = np.concatenate([self._costs, TOGETHER * same / self._usual])

    def run(self, moves: list[Array], labs: list[Lab]) -> tuple[list[Array], list[Lab]]:
        """Return better moves, and the pictures that they make."""
        x, damping = np.concatenate(moves), 1e-2
        now = self._misses(x, labs)
        for _ in range(STEPS):
            slope = self._slope(x, labs, now)
            square, down = slope.T @ slope, slope.T @ now.rest
            before = now.left
            for _ in range(TRIES):
                tried = x - np.linalg.solve(square + damping * np.diag(np.diag(square)), down)
                labs_then = self._labs(tried)
                then = self._misses(tried, labs_then)
                if then.left < before:
                    x, labs, now, damping = tried, labs_then, then, damping / 4
                    break
                damping *= 4
            if now.left > (1 - ENOUGH) * before:
                break
        return self._parts(x), labs

    def _parts(self, x: Array) -> list[Array]:
        return [x[start:stop] for start, stop in zip(self._starts, self._starts[1:], strict=False)]

    def _labs(self, x: Array) -> list[Lab]:
        return [side.lab(by) for side, by in zip(self._sides, self._parts(x), strict=True)]

    def _misses(self, x: Array, labs: list[Lab]) -> _Misses:
        """Return what is still wrong."""
        cut = [
            (slices(labs[i], mine), slices(labs[j], theirs))
            for (i, j), (mine, theirs) in zip(self._pairs, self._weights, strict=True)
        ]
        apart = np.stack(
            [a.of(labs[i]) - b.of(labs[j]) for (i, j), (a, b) in zip(self._pairs, cut, strict=True)]
        )
        worth = _worth(np.linalg.norm(apart, axis=1)) / np.sqrt(COUNT)
        return _Misses(cut, worth, np.concatenate([(worth[:, None] * apart).ravel(), self._costs @ x]))

    def _slope(self, x: Array, labs: list[Lab], now: _Misses) -> Array:
        """Return by how much each number moves the misses, (misses, numbers)."""
        found = np.zeros((len(self._pairs), COUNT, len(x)))
        for at, (side, by) in enumerate(zip(self._sides, self._parts(x), strict=True)):
            for number, usual in enumerate(side.usual):
                step = np.zeros(len(by))
                step[number] = SLOPE * usual
                moved = (side.lab(by + step) - labs[at]) / step[number]
                for row, (pair, (mine, theirs)) in enumerate(zip(self._pairs, now.cut, strict=True)):
                    if pair[0] == at:
                        found[row, :, self._starts[at] + number] += mine.of(moved)
                    if pair[1] == at:
                        found[row, :, self._starts[at] + number] -= theirs.of(moved)
        found *= now.worth[:, None, None]
        return np.concatenate([found.reshape(-1, len(x)), self._costs])


@dataclass(frozen=True, slots=True, eq=False)
class _Misses:
    """The slices of each pair, what a pair counts, and what is wrong: of pairs, then of costs."""

    cut: list[tuple[Slices, Slices]]
    worth: Array
    rest: Array

    @property
    def left(self) -> float:
        """The sum of their squares."""
        return float(self.rest @ self.rest)


def _worth(distances: Array) -> Array:
    """Return what each of several distances is to be multiplied by.

    The mean square of the products is the square of the distances' power mean, and has its slope even while
    these numbers are held.
    """
    most = distances.max()
    if most == 0:
        return np.ones_like(distances)
    mean = most * np.mean((distances / most) ** POWER) ** (1 / POWER)
    return np.asarray((distances / mean) ** (POWER / 2 - 1), np.float64)
