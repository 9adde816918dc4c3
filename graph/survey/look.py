"""What every part of the survey looks at: the reel, what was measured, and its shots."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.statistics.statistics import Statistics
from lamphouse.graph.reel.records import Reel
from lamphouse.graph.reel_files.opened import OpenedReel

if TYPE_CHECKING:
    from lamphouse.graph.survey.flicker import Flicker
    from lamphouse.graph.survey.starts.fading import Fading
    from lamphouse.graph.survey.steadiness.steadiness import Unsteadiness

ChangeKind = Literal["cut", "dissolve", "fade in", "fade out"]


@dataclass(frozen=True, slots=True)
class Change:
    """A change of shot. `frame` is the first of the new shot, of a dissolve the first that shows it alone.

    `frames` is how many it lasts before that: 0 of a cut.
    """

    frame: int
    what: ChangeKind
    sure: float
    frames: int = 0


@dataclass(frozen=True, slots=True)
class Shot:
    """Frames [first, stop) of the scan between two changes of shot."""

    first: int
    stop: int


@dataclass(frozen=True, eq=False)  # without slots, for what is found once
class Look:
    """A reel, the statistics of its scan, and where its shots change.

    `margin` is how far a change has to stand out: 1, or more for fewer. `grade` is the reel's own.
    """

    opened: OpenedReel
    statistics: Statistics
    changes: tuple[Change, ...]
    shots: tuple[Shot, ...]
    grade: Grade
    margin: float = 1.0

    @cached_property
    def picture(self) -> range:
        """The frames of the picture, without leaders: found once for all that ask."""
        from lamphouse.graph.survey.marks.ends import picture_range

        return range(*picture_range(self.statistics))

    @cached_property
    def fading(self) -> Fading | None:
        """What the dyes of the reel have lost, where its set-ups agree on it and it is not set already."""
        from lamphouse.graph.survey.starts.fading import measured_fading

        return measured_fading(self)

    @cached_property
    def gradual(self) -> tuple[Change, ...]:
        """The changes that take time: dissolves and fades."""
        return tuple(change for change in self.changes if change.frames)

    @cached_property
    def flickers(self) -> tuple[Flicker, ...]:
        """The flicker of each shot that is long enough to have any, however small."""
        from lamphouse.graph.survey.flicker import flickers

        return tuple(flickers(self))

    @cached_property
    def unsteadiness(self) -> tuple[Unsteadiness, ...]:
        """How unsteady each shot is that is long enough to be, however little."""
        from lamphouse.graph.survey.steadiness.steadiness import unsteadiness

        return tuple(unsteadiness(self))

    def video(self, first: int, stop: int, most: int = 8) -> list[tuple[int, NDArray[np.float32]]]:
        """Return small pictures of [first, stop) as the chain shows them now, in `video`, (3, h, w)."""
        pictures = self.statistics.pictures(first, stop, most)
        return [(frame, self.grade.correct(frame, picture)) for frame, picture in pictures]


def shots_of(reel: Reel, changes: Iterable[Change]) -> tuple[Shot, ...]:
    """Return the shots that changes and the reel's own cues part it into; a cue beside a change is that."""
    own = {cue.frame for cue in reel.cues if cue.begins == "cut"}
    found = {
        change.frame
        for change in changes
        if not own & set(range(change.frame - change.frames - 1, change.frame + 2))
    }
    frames = reel.scan.frames
    begins = sorted({0, frames, *(frame for frame in own | found if 0 < frame < frames)})
    return tuple(Shot(first, stop) for first, stop in pairwise(begins))
