"""Shots brought beside one another, in a process of their own: that takes a second or more."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.values import Value
from lamphouse.viewer.jobs.orders import OfReel
from lamphouse.viewer.jobs.said import Outcome
from lamphouse.viewer.jobs.told import Told

if TYPE_CHECKING:
    from lamphouse.graph.survey.matching.match import Graded

Picture = NDArray[np.float32]  # (3, h, w) of video signal


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """Settings by the frames of their cues, and the distance before and after.

    Of a scene it is the largest step from a shot to the next. `common` is the share that both of two show. A
    scene may go to and fro between `views`, each even by itself; `alone` is how many of its shots stay as
    they are, being without a picture or the only one of their view.
    """

    settings: Mapping[int, Mapping[str, Value]]
    before: float
    after: float
    common: float = 1.0
    views: int = 1
    alone: int = 0


@dataclass(frozen=True, slots=True)
class Match(OfReel):
    """Bring the shot of the cue at `frame` beside that of the cue at another, or beside a still."""

    frame: int
    to: int | Picture

    def run(self, told: Told) -> Outcome:
        """Do it. Raises BadInput where nothing brings them nearer."""
        from lamphouse.graph.survey.matching.match import matched
        from lamphouse.graph.survey.matching.shots import shown

        if isinstance(self.to, int):
            shot, other = _shots(self, told, (self.frame, self.to))
            goal = other.as_it_is()
        else:
            (shot,) = _shots(self, told, (self.frame,))
            goal = shown(self.to)
        found = matched(shot, goal)
        told.give(Found({self.frame: found.settings}, found.before, found.after, found.common))
        return Outcome("Matched.")


@dataclass(frozen=True, slots=True)
class Even(OfReel):
    """Even out the shots of the cues at `frames`, in their order."""

    frames: tuple[int, ...]

    def run(self, told: Told) -> Outcome:
        """Do it. Raises BadInput for fewer than two shots."""
        from lamphouse.graph.survey.matching.match import evened

        found = evened(_shots(self, told, self.frames))
        settings = {frame: each for frame, each in zip(self.frames, found.settings, strict=True) if each}
        alone = len(self.frames) - len({place for pair in found.pairs for place in pair})
        told.give(Found(settings, max(found.before), max(found.after), views=found.views, alone=alone))
        return Outcome("Evened out.")


def _shots(order: OfReel, told: Told, frames: Sequence[int]) -> list[Graded]:
    from lamphouse.graph.survey.matching.shots import cue_of, pictures_of, shot_of

    opened = order.opened
    cues = [cue_of(opened.reel, frame) for frame in frames]
    with told.stage("matching") as step:
        pictures = pictures_of(opened, cues, step)
    return [shot_of(opened, cue, found) for cue, found in zip(cues, pictures, strict=True)]
