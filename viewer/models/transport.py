"""Playing: which frame is due now, and how many came too late to be seen.

Everything is reckoned in whole numbers from the moment a motion began, an exact rate and a clock in
nanoseconds that is handed in. Nothing is added up on the way, so an hour of playing is not a frame off.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from lamphouse.nodes.errors import BadInput

SECOND: Final = 1_000_000_000  # nanoseconds
STILL: Final = Fraction(0)

# Shuttle speeds in frames of film for each frame's time (our choice); slow ones lie on the way to rest.
SLOW: Final = (Fraction(1, 4), Fraction(1, 2))
FAST: Final = (Fraction(1), Fraction(2), Fraction(4), Fraction(10), Fraction(32))
SPEEDS: Final = (*(-s for s in reversed(SLOW + FAST)), STILL, *SLOW, *FAST)

Loop = tuple[int, int]  # frames, half-open


@dataclass(frozen=True, slots=True)
class Due:
    """The frame that is due, which picture of its motion it is, counted from 0, and which motion that is."""

    frame: int
    picture: int
    motion: int


@dataclass(frozen=True, slots=True)
class Transport:
    """Where a reel of `frames` frames stands, or how it moves. Every change is another Transport.

    A motion begins at `frame` at the time `began` and goes `speed` frames in each frame's time of `rate`;
    `shown` is its last picture that was seen (the one it begins with counts as seen) and `dropped` how many
    were not. A `loop` repeats, either way.
    """

    frames: int
    rate: Fraction
    frame: int = 0
    speed: Fraction = STILL
    began: int = 0
    loop: Loop | None = None
    motion: int = 0
    shown: int = 0
    dropped: int = 0

    def due(self, now: int) -> Due:
        """Return what is to be seen at `now` (nanoseconds of a clock that never goes back)."""
        ticks = self._ticks(now)
        return Due(self._frame_after(ticks), self._pictures(ticks), self.motion)

    def share(self, now: int) -> Fraction:
        """Return how much of the time of the frame that is due has passed, from 0 to below 1."""
        span = SECOND * self.rate.denominator
        return Fraction((now - self.began) * self.rate.numerator % span, span)

    def is_moving(self, now: int) -> bool:
        """Say whether another frame will be due after `now`."""
        end = self._ticks_to_end()
        return self.speed != 0 and (end is None or self._ticks_at(now) < end)

    def wait(self, now: int) -> int | None:
        """Return the nanoseconds until the next frame is due, or None where none will be."""
        if not self.is_moving(now):
            return None
        # A frame n ticks on begins at the first nanosecond at or after n / rate.
        next_tick = self._first_tick_of(self._pictures(self._ticks(now)) + 1)
        span = SECOND * self.rate.denominator
        return self.began - now - (-next_tick * span // self.rate.numerator)

    def ahead(self, now: int, count: int) -> tuple[tuple[Due, int], ...]:
        """Return the pictures after the one that is due, `count` at most, and the nanoseconds until each."""
        if not self.is_moving(now):
            return ()
        found, last = list[tuple[Due, int]](), self._ticks(now)
        end = self._ticks_to_end()
        span = SECOND * self.rate.denominator
        for picture in range(self._pictures(last) + 1, self._pictures(last) + 1 + count):
            tick = self._first_tick_of(picture)
            if end is not None and tick > end:
                break
            wait = self.began - now - (-tick * span // self.rate.numerator)
            found.append((Due(self._frame_after(tick), picture, self.motion), wait))
        return tuple(found)

    @property
    def wanted(self) -> Fraction:
        """How many pictures a second it shows where none is missed."""
        return self.rate * min(Fraction(1), abs(self.speed))

    def seen(self, due: Due) -> Transport:
        """Return the transport once what was `due` is on the screen; pictures passed over count as dropped.

        A picture of an earlier motion, or one no later than the last, changes nothing.
        """
        if due.motion != self.motion or due.picture <= self.shown:
            return self
        passed = due.picture - self.shown - 1
        return replace(self, shown=due.picture, dropped=self.dropped + passed)

    def unseen(self, now: int) -> int:
        """Return how many pictures of this motion nobody has seen by `now`, passed over or late."""
        return self.dropped + max(0, self.due(now).picture - self.shown - 1)

    def run(self, speed: Fraction | int, now: int) -> Transport:
        """Return the transport moving at `speed` from where it is at `now`: 1 plays, -1 reverses, 0 stops.

        At the end of the reel that it would run into, it stays.
        """
        return self._begun(self.due(now).frame, Fraction(speed), now)

    def play(self, now: int) -> Transport:
        """Return the transport playing forwards."""
        return self.run(1, now)

    def reverse(self, now: int) -> Transport:
        """Return the transport playing backwards."""
        return self.run(-1, now)

    def stop(self, now: int) -> Transport:
        """Return the transport standing on the frame that is due."""
        return self.run(STILL, now)

    def shuttle(self, faster: int, now: int) -> Transport:
        """Return the transport one shuttle speed up (`faster` 1) or down (-1), by stop to the other way.

        From rest it plays, either way.
        """
        speed = self.speed if self.is_moving(now) else STILL
        if speed == STILL:
            return self.run(faster, now)
        if faster > 0:
            return self.run(min((s for s in SPEEDS if s > speed), default=SPEEDS[-1]), now)
        return self.run(max((s for s in SPEEDS if s < speed), default=SPEEDS[0]), now)

    def step(self, by: int, now: int) -> Transport:
        """Return the transport standing `by` frames on, within the reel; in a loop, round it."""
        frame = self.due(now).frame + by
        return self._begun(self._wrapped(frame), STILL, now)

    def go_to(self, frame: int, now: int) -> Transport:
        """Return the transport at `frame`, moving as it did. A loop that does not hold it is left.

        Raises BadInput for a frame outside the reel.
        """
        if not 0 <= frame < self.frames:
            raise BadInput(f"Frame {frame} lies outside the reel, which has frames 0 to {self.frames - 1}.")
        loop = self.loop if self.loop and self.loop[0] <= frame < self.loop[1] else None
        speed = self.speed if self.is_moving(now) else STILL
        return replace(self, loop=loop)._begun(frame, speed, now)

    def looping(self, loop: Loop | None, now: int) -> Transport:
        """Return the transport with that loop, as far as the reel goes, or with none, moving as it did.

        Standing outside it, it goes to its start. Raises BadInput for a loop without a frame of the reel.
        """
        frame = self.due(now).frame
        speed = self.speed if self.is_moving(now) else STILL
        if loop is None:
            return replace(self, loop=None)._begun(frame, speed, now)
        start, stop = max(loop[0], 0), min(loop[1], self.frames)
        if start >= stop:
            raise BadInput(f"A loop from frame {loop[0]} to {loop[1]} holds no frame of the reel.")
        frame = frame if start <= frame < stop else start
        return replace(self, loop=(start, stop))._begun(frame, speed, now)

    def _begun(self, frame: int, speed: Fraction, now: int) -> Transport:
        return replace(self, frame=frame, speed=speed, began=now, motion=self.motion + 1, shown=0, dropped=0)

    def _ticks_at(self, now: int) -> int:
        """Return how many times of a frame have passed since the motion began."""
        return (now - self.began) * self.rate.numerator // (SECOND * self.rate.denominator)

    def _ticks(self, now: int) -> int:
        """Return the same, but no more than it takes to the end of the reel."""
        if self.speed == 0:
            return 0
        end, ticks = self._ticks_to_end(), self._ticks_at(now)
        return ticks if end is None else min(ticks, end)

    def _ticks_to_end(self) -> int | None:
        if self.loop or self.speed == 0:
            return None
        way = self.frames - 1 - self.frame if self.speed > 0 else self.frame
        return -(-way // abs(self.speed))

    def _moved(self, ticks: int) -> int:
        return int(ticks * abs(self.speed))

    def _frame_after(self, ticks: int) -> int:
        moved = self._moved(ticks)
        return self._wrapped(self.frame + (moved if self.speed > 0 else -moved))

    def _wrapped(self, frame: int) -> int:
        if self.loop:
            start, stop = self.loop
            return start + (frame - start) % (stop - start)
        return min(max(frame, 0), self.frames - 1)

    def _pictures(self, ticks: int) -> int:
        """Return how many pictures there have been: a shuttle shows one a tick, slow motion fewer."""
        return min(ticks, self._moved(ticks))

    def _first_tick_of(self, picture: int) -> int:
        """Return the tick at which that picture of the motion is first due."""
        return picture if abs(self.speed) >= 1 else -(-picture // abs(self.speed))
