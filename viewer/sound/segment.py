"""Which samples are due: from the transport and the time at which they will be heard to their places.

Exact, without a clock of its own, as the transport is. Only plain playing sounds, either way: a shuttle, slow
or fast, is silent, and of a picture that stands a frame is heard once as it is come to (`scrub.py`).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from lamphouse.graph.media.sound.read import Places
from lamphouse.viewer.models.transport import Transport


@dataclass(frozen=True, slots=True)
class Segment:
    """Samples in a row from `sample` on, forwards (`way` 1) or backwards (-1: `sample` - 1 is first).

    A `loop` [low, high) wraps from its end to its beginning, or backwards the other way round.
    """

    sample: int
    way: int
    motion: int
    loop: tuple[int, int] | None = None
    begins: Fraction | int = 0  # where the sound lies beside the film: moved, it is another segment
    ends: int | None = None  # where it is over, the frame being heard alone

    @property
    def room(self) -> int | None:
        """Samples up to the wrap or the end, at least 1, or None where none comes."""
        if self.ends is not None:
            return (self.ends - self.sample) * self.way
        if self.loop is None:
            return None
        low, high = self.loop
        return high - self.sample if self.way > 0 else self.sample - low

    def after(self, count: int) -> Segment | None:
        """Return the segment `count` samples on, which is at most the room; None where it is over."""
        if self.ends is not None and self.room == count:
            return None
        sample = self.sample + self.way * count
        if self.room == count and self.loop is not None:
            sample = self.loop[0] if self.way > 0 else self.loop[1]
        return replace(self, sample=sample)

    def off(self, other: Segment) -> int | None:
        """Return how many samples two segments of one motion are apart, round the loop if that is nearer."""
        if replace(self, sample=other.sample) != other:
            return None
        apart = abs(self.sample - other.sample)
        return min(apart, self.loop[1] - self.loop[0] - apart) if self.loop else apart


def is_heard(transport: Transport, now: int) -> bool:
    """Say whether anything sounds at `now` (nanoseconds of the transport's clock)."""
    return abs(transport.speed) == 1 and transport.is_moving(now)


def segment_due(transport: Transport, heard: int, places: Places) -> Segment | None:
    """Return what sounds for who hears it at `heard`, or None for silence."""
    heard = max(heard, transport.began)
    if not is_heard(transport, heard):
        return None
    frame, way = transport.due(heard).frame, int(transport.speed)
    into = int(transport.share(heard) * places.sound_rate / places.rate)
    sample = places.at(frame) + into if way > 0 else places.at(frame + 1) - into
    loop = transport.loop and (places.at(transport.loop[0]), places.at(transport.loop[1]))
    return Segment(sample, way, transport.motion, loop, places.starts_at)


def segments_ahead(
    transport: Transport, now: int, places: Places, step: int, count: int
) -> Iterator[Segment]:
    """Yield what sounds from `now` on at `count` times, each `step` nanoseconds after the one before."""
    for number in range(count):
        segment = segment_due(transport, now + number * step, places)
        if segment is not None:
            yield segment
