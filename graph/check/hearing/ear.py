"""One programme heard from end to end: what is measured of it, and where in the master a part of it lies."""

from __future__ import annotations

from fractions import Fraction
from math import ceil

import av
import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.check.hearing.channels import A_SECOND, Listener, Pieces
from lamphouse.graph.check.hearing.meter import Loudness, Meter
from lamphouse.graph.check.hearing.tracks import Programme
from lamphouse.graph.check.subject import Subject

Block = NDArray[np.float32]


class Ear:
    """Hears a programme: where the record tells what is film, that alone and no line-up tone."""

    def __init__(self, programme: Programme, subject: Subject) -> None:
        self.programme, self._rate = programme, subject.rate
        self._film = subject.span.film if subject.span else None
        channels = sum(track.channels for track in programme.tracks)
        self._listener = Listener(programme.rate, channels, programme.tracks[0].top)
        self._meter = _meter(programme)
        self._heard = 0
        self._window: tuple[int, int | None] | None = None

    def add(self, block: Block) -> None:
        """Take the next samples (channels, n)."""
        first, stop = self._range()
        start = max(first - self._heard, 0)
        end = None if stop is None else max(stop - self._heard, 0)
        self._heard += block.shape[1]
        part = block[:, start:end]
        if part.shape[1]:
            self._listener.add(part)
            if self._meter is not None:
                self._meter.add(part)

    def end(self) -> tuple[Pieces, Loudness | None]:
        """Return what was heard; no loudness where the layout of the channels is none that has one."""
        return self._listener.end(), self._meter.end() if self._meter is not None else None

    def seconds(self, piece: int | Fraction) -> Fraction:
        """Return where a piece of the sound begins, in seconds from the first picture."""
        size = max(1, self.programme.rate // A_SECOND)
        return self._starts + Fraction(self._range()[0] + piece * size, self.programme.rate)

    def frames(self, first: int | Fraction, stop: int | Fraction) -> tuple[int, int]:
        """Return the frames of the master beside the pieces [first, stop)."""
        begins = max(0, int(self.seconds(first) * self._rate))
        return begins, max(begins + 1, ceil(self.seconds(stop) * self._rate))

    @property
    def _starts(self) -> Fraction:
        return self.programme.tracks[0].starts or Fraction(0)

    def _range(self) -> tuple[int, int | None]:
        """Return which samples are heard."""
        if self._film is None:
            return 0, None
        if self._window is None:
            first, stop = (
                Fraction(n) / self._rate - self._starts for n in (self._film.start, self._film.stop)
            )
            rate = self.programme.rate
            self._window = max(0, ceil(first * rate)), max(0, ceil(stop * rate))
        return self._window


def _meter(programme: Programme) -> Meter | None:
    try:
        return Meter(programme.rate, programme.layout)
    except (av.FFmpegError, ValueError):
        return None
