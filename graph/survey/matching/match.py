"""One shot beside another, and a scene of several made even."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.grade.probe import Probe, Sample
from lamphouse.graph.survey.matching.distance import Array, Lab, distance
from lamphouse.graph.survey.matching.knobs import Knobs
from lamphouse.graph.survey.matching.overlap import common
from lamphouse.graph.survey.matching.solve import Pair, Solved, Weights, solved, solved_scene
from lamphouse.graph.survey.matching.views import strands
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.lab import lab_of_video
from lamphouse.nodes.values import Value

BLANK: Final = 1.0  # as far as a shot that shows nothing may be from its one colour (our choice)
EVEN_ALREADY: Final = (
    "Nothing makes these shots more even than they are; they are even, or have too little in common."
)


@dataclass(frozen=True, slots=True, eq=False)
class Shown:
    """What stays as it is: a still, or a shot under its own settings, as CIELAB (n, 3)."""

    seen: Lab

    @property
    def usual(self) -> Array:
        """How far its numbers move: it has none."""
        return np.zeros(0)

    def lab(self, by: Array) -> Lab:
        """Return it: no number moves it."""
        return self.seen


class Graded:
    """A shot under its chain, by samples of its scan, with the numbers that may move."""

    def __init__(self, probe: Probe, samples: Sequence[Sample], knobs: Knobs) -> None:
        self._probe, self.knobs = probe, knobs
        self.pictures = [sample.pixels for sample in samples]  # of the scan
        self._samples = [_joined(samples)] if probe.is_of_points else list(samples)

    @property
    def usual(self) -> Array:
        """How far each number is moved as a matter of course, (n,)."""
        return self.knobs.usual

    def lab(self, by: Array) -> Lab:
        """Return it in CIELAB, (pixels, 3), once its numbers have moved by `by` (n,)."""
        values = self.knobs.moved(by, rounds=False)
        with np.errstate(all="ignore"):
            made = [self._probe.changed(sample, values).reshape(3, -1) for sample in self._samples]
        return lab_of(np.concatenate(made, axis=1))

    def as_it_is(self) -> Shown:
        """Return it under the settings that it has now."""
        return Shown(self.lab(np.zeros(self.knobs.size)))


def lab_of(video: NDArray[Any]) -> Lab:
    """Return CIELAB (n, 3) of video signal (3, n); what is no number, as a chain may make it, is black."""
    return lab_of_video(np.nan_to_num(video, nan=0.0, posinf=4.0, neginf=0.0).clip(0, 4).T)


def _joined(samples: Sequence[Sample]) -> Sample:
    pixels = np.concatenate([sample.pixels.reshape(3, 1, -1) for sample in samples], axis=2)
    return Sample(pixels)


@dataclass(frozen=True, slots=True)
class Match:
    """Settings that bring a shot to another picture, the distance before and after, and what both show.

    The distances are of what both show, sliced Wasserstein in CIELAB; `common` is the share of the shot that
    the other shows as well.
    """

    settings: Mapping[str, Value]
    before: float
    after: float
    common: float


def matched(shot: Graded, to: Shown) -> Match:
    """Return the settings that bring `shot` to a picture.

    Raises BadInput where none bring it nearer than it is.
    """
    found = solved((shot, to), ((0, 1),))
    weights = found.weights[0]
    before = _apart(shot.as_it_is().seen, to.seen, weights)
    after = _apart(found.labs[0], to.seen, weights)
    if after >= before:
        raise BadInput(
            "Nothing brings these two nearer than they are; they are matched, or have too little in common."
        )
    return Match(shot.knobs.moved(found.moves[0]), before, after, common(weights[0]))


@dataclass(frozen=True, slots=True)
class Evened:
    """Settings of each shot of a scene, none for one that stays as it is, and the steps between neighbours.

    A step is from one of `pairs` to the other, by their places among the shots, `before` and `after`. Of a
    scene that goes to and fro between several `views` neighbours are the shots of one view. `blank` are the
    places of shots that show no picture.
    """

    settings: tuple[Mapping[str, Value], ...]
    pairs: tuple[Pair, ...]
    before: tuple[float, ...]
    after: tuple[float, ...]
    views: int
    blank: tuple[int, ...]


def evened(shots: Sequence[Graded]) -> Evened:
    """Return settings with which the largest steps from shot to shot are least, while the whole stays.

    The mean of what the numbers of all shots move is none, also of each view that is evened by itself
    (`views.py`); shots that are even stay as they are. So does one that shows nothing, such as black: those
    about it are neighbours. Raises BadInput for fewer than two that show something.
    """
    if len(shots) < 2:
        raise BadInput("Evening out takes two shots or more; name another as well.")
    now = [shot.as_it_is().seen for shot in shots]
    places = [place for place, lab in enumerate(now) if not _is_blank(lab)]
    if len(places) < 2:
        raise BadInput("Fewer than two of these shots show a picture, and not one colour alone; name others.")
    of_places = strands([shots[place].pictures for place in places])
    views = [[places[at] for at in strand] for strand in of_places if len(strand) > 1]
    settings: list[Mapping[str, Value]] = [{}] * len(shots)
    steps: dict[Pair, tuple[float, float]] = {}
    for view in views:
        found = solved_scene([shots[place] for place in view], list(pairwise(range(len(view)))))
        for place, by in zip(view, found.moves, strict=True):
            settings[place] = shots[place].knobs.moved(by) if by.any() else {}
        steps |= zip(pairwise(view), _steps([now[place] for place in view], found), strict=True)
    pairs = tuple(sorted(steps))
    before, after = zip(*(steps[pair] for pair in pairs), strict=True)
    blank = tuple(sorted(set(range(len(shots))).difference(places)))
    return Evened(tuple(settings), pairs, before, after, len(views), blank)


def _steps(now: Sequence[Lab], found: Solved) -> Iterator[tuple[float, float]]:
    """Yield the distance of each shot to the next, as they are `now` and as they are found."""
    for (i, j), weights in zip(pairwise(range(len(now))), found.weights, strict=True):
        yield _apart(now[i], now[j], weights), _apart(found.labs[i], found.labs[j], weights)


def _is_blank(lab: Lab) -> bool:
    middle = np.broadcast_to(np.median(lab, axis=0), lab.shape)
    return distance(lab, middle) < BLANK


def _apart(lab: Lab, other: Lab, weights: Weights) -> float:
    return distance(lab, other, *weights)
