"""Which segment goes to which worker: one at a time to each, for one fills a machine.

What a lost worker had is handed out again, a bounded number of times. Where workers are idle, a segment that
takes more than twice as long as others did is handed out once more, and the first to be made is taken.
"""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Iterable
from dataclasses import dataclass
from statistics import median
from typing import Final

from lamphouse.nodes.errors import BadInput

TRIES: Final = 3  # that a segment may cost workers before it is thought to be the cause
SLOW: Final = 2  # times the median
LONGEST: Final = 1500  # frames: a minute at 25 a second is soon made again
SHORTEST: Final = 25  # frames: for fewer, opening reel and scan is not worth it
TURNS: Final = 4  # segments a worker, so that the last to end is not waited for long


@dataclass(slots=True)
class Work:
    """A segment that a worker has, since when, and how many frames of it are made."""

    segment: range
    began: float
    done: int = 0


class HandOut:
    """Segments, and who has which. Times are seconds of any clock that does not go back."""

    def __init__(self, segments: Iterable[range]) -> None:
        self._waiting = deque(segments)
        self._tries: Counter[range] = Counter()
        self._took: list[float] = []  # seconds a frame, of what is made
        self._made = 0
        self.at_work: dict[str, Work] = {}

    @property
    def is_ended(self) -> bool:
        """Whether all is made."""
        return not self._waiting and not self.at_work

    @property
    def done(self) -> int:
        """How many frames are made by now."""
        each: dict[range, int] = {}
        for work in self.at_work.values():
            each[work.segment] = max(work.done, each.get(work.segment, 0))
        return self._made + sum(each.values())

    def give(self, worker: str, now: float) -> range | None:
        """Return the segment that the idle `worker` is to make; None where there is none for it."""
        segment = self._waiting.popleft() if self._waiting else self._slow(now)
        if segment is not None:
            self.at_work[worker] = Work(segment, now)
        return segment

    def tell(self, worker: str, done: int) -> None:
        """Take note of how many frames of its segment `worker` has made."""
        if (work := self.at_work.get(worker)) is not None:
            work.done = done

    def made(self, worker: str, now: float) -> list[str]:
        """Take the segment of `worker` as made, and return who else has it and need not go on."""
        work = self.at_work.pop(worker)
        self._made += len(work.segment)
        self._took.append((now - work.began) / len(work.segment))
        others = [other for other, theirs in self.at_work.items() if theirs.segment == work.segment]
        for other in others:
            del self.at_work[other]
        return others

    def lost(self, worker: str, why: str) -> None:
        """Hand the segment of `worker` out again. Raises BadInput where that has been done often enough."""
        segment = self.back(worker)
        self._tries[segment] += 1
        if self._tries[segment] >= TRIES:
            raise BadInput(
                f"Frames {segment.start} to {segment.stop} were given to {TRIES} workers and none made them, "
                f"the last {worker} ({why}); see to the workers."
            )

    def back(self, worker: str) -> range:
        """Take the segment of `worker`, which is without blame, back to be handed out again."""
        segment = self.at_work.pop(worker).segment
        if all(work.segment != segment for work in self.at_work.values()):
            self._waiting.appendleft(segment)
        return segment

    def _slow(self, now: float) -> range | None:
        if not self._took:
            return None
        limit = SLOW * median(self._took)
        holders = Counter(work.segment for work in self.at_work.values())
        late = [
            work
            for work in self.at_work.values()
            if holders[work.segment] == 1 and now - work.began > limit * len(work.segment)
        ]
        return min(late, key=lambda work: work.began).segment if late else None


def cut(gaps: Iterable[range], workers: int) -> list[range]:
    """Return what is to be made in segments for so many workers, in order."""
    gaps = list(gaps)
    wanted = sum(map(len, gaps)) // (max(workers, 1) * TURNS)
    length = min(max(wanted, SHORTEST), LONGEST)
    return [gap[at : at + length] for gap in gaps for at in range(0, len(gap), length)]
