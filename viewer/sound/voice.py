"""Blocks of samples for a device: one segment after another, with a fade wherever two do not meet.

A start, a stop, a jump, a turn and the wrap of a loop are all the same here: what sounded goes on for a
few milliseconds and falls, while what sounds now rises. The two shares always add up to one.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np

from lamphouse.graph.media.sound.readers import Samples
from lamphouse.viewer.sound.segment import Segment

FADE: Final = 250  # a second's part that a fade lasts: 4 ms, too short to hear and long enough not to click

Fetch = Callable[[int, int], Samples | None]


class Voice:
    """What sounds, from block to block. It is used by one thread at a time.

    A segment goes on sample by sample, and is put right only when it is more than `slack` samples off.
    """

    def __init__(self, channels: int, rate: int, slack: int) -> None:
        self._channels, self._slack = channels, slack
        self._fade = rate // FADE
        self._rise = (np.sin(np.arange(1, self._fade + 1) / self._fade * np.pi / 2) ** 2).astype(np.float32)
        self._segment: Segment | None = None
        self._risen = 0  # samples of the rise that have been heard
        self._tail = self._going = np.zeros((channels, 0), np.float32)

    @property
    def is_silent(self) -> bool:
        """Whether nothing sounds and nothing is fading."""
        return self._segment is None and not self._going.size

    def block(self, segment: Segment | None, count: int, fetch: Fetch) -> Samples:
        """Return `count` samples (channels, count), where `run` is due at the first.

        `fetch(start, stop)` gives samples of the sound, or None for those that are not there yet: silence.
        """
        if not self._goes_on(segment):
            self._let_go()
            self._segment = segment
        out = np.zeros((self._channels, count), np.float32)
        done = 0
        while done < count:
            done += self._fill(out[:, done:], fetch)
        return out

    def _goes_on(self, segment: Segment | None) -> bool:
        if self._segment is None or segment is None:
            return False
        off = self._segment.off(segment)
        return off is not None and off <= self._slack

    def _fill(self, out: Samples, fetch: Fetch) -> int:
        """Fill what comes before a wrap, and return how much that is."""
        segment, count = self._segment, int(out.shape[1])
        if segment is not None and segment.room is not None:
            count = min(count, segment.room)
        samples = self._straight(segment, count, fetch) if segment is not None else None
        if segment is not None and samples is None:
            self._let_go()
        self._fall(out[:, :count])
        if segment is not None and samples is not None:
            self._tail = samples[:, count:]
            out[:, :count] += self._raised(samples[:, :count])
            if segment.room == count:
                self._let_go()
            self._segment = segment.after(count)
        return count

    def _straight(self, segment: Segment, count: int, fetch: Fetch) -> Samples | None:
        """Return the next samples as they are heard, and a fade's length more to end with."""
        more = count + self._fade
        if segment.way > 0:
            return fetch(segment.sample, segment.sample + more)
        samples = fetch(segment.sample - more, segment.sample)
        return None if samples is None else samples[:, ::-1]

    def _raised(self, samples: Samples) -> Samples:
        share = self._rise[self._risen : self._risen + samples.shape[1]]
        self._risen += len(share)
        return np.concatenate([samples[:, : len(share)] * share, samples[:, len(share) :]], axis=1)

    def _let_go(self) -> None:
        """Let what sounds fall, from the share that it has reached."""
        if self._segment is not None and self._risen:
            falling = self._tail * (1 - self._rise) * self._rise[self._risen - 1]
            falling[:, : self._going.shape[1]] += self._going
            self._going = falling
        self._segment, self._risen = None, 0

    def _fall(self, out: Samples) -> None:
        count = min(out.shape[1], self._going.shape[1])
        out[:, :count] += self._going[:, :count]
        self._going = self._going[:, count:]
