"""The sound beside the picture, played: read on a thread of its own, asked for by the device on another.

The thread sleeps while nothing is to be heard, and the device rests. Whatever goes wrong becomes `trouble`
and silence, until the sound is switched off and on again.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from threading import Condition, Thread
from typing import Final

import numpy as np

from lamphouse.graph.media.sound.read import Places, SoundSource, open_anywhere
from lamphouse.graph.media.sound.readers import Samples
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.transport import SECOND, Transport
from lamphouse.viewer.sound.device import Device, NoDevice
from lamphouse.viewer.sound.line import Line
from lamphouse.viewer.sound.pieces import Pieces
from lamphouse.viewer.sound.scrub import Scrub, Scrubbing, scrubbed
from lamphouse.viewer.sound.segment import Segment, is_heard, segment_due
from lamphouse.viewer.sound.voice import Voice

AGAIN: Final = 0.05  # seconds from one look at what to read next to another, while something sounds
LINGER: Final = SECOND // 2  # of silence after which the device rests: by then the last fade was heard
LOST: Final = 2 * SECOND  # without a request of a device that was started: it is gone
PATIENCE: Final = 1.0  # seconds that closing waits for a device that hangs

OpenDevice = Callable[[int, int], Device]
Moving = Callable[[], "Heard"]
Placed = Callable[[int], Places]  # where a sound of so many samples a second lies now
Clock = Callable[[], int]


@dataclass(frozen=True, slots=True)
class Heard:
    """What is to be heard: how the reel moves, or the frame that was come to, and how loud, as a factor."""

    transport: Transport | None = None  # None: nothing
    scrub: Scrub | None = None
    factor: float = 1.0


class _Playing:
    """An opened sound on an opened device."""

    def __init__(self, source: SoundSource, device: Device, placed: Placed, moving: Moving, clock: Clock):
        self.device, self._source = device, source
        self._placed, self._moving, self._clock = placed, moving, clock
        self._pieces = Pieces(source)
        slack = int(source.rate / placed(source.rate).rate / 2)
        self._voice = Voice(source.channels, source.rate, slack)
        self._line = Line(source.rate, device.queued)
        self._asked_at = 0
        self._factor: float | None = None
        self.scrubbing = Scrubbing()
        self._fault = ""

    @property
    def is_silent(self) -> bool:
        """Whether nothing sounds and nothing fades."""
        return self._voice.is_silent

    def start(self) -> None:
        """Let the device ask. Raises NoDevice."""
        self._line = Line(self._source.rate, self.device.queued)
        self._asked_at = self._clock()
        self.device.start(self._fill)

    def check(self) -> None:
        """Raise NoDevice where the device asks no longer."""
        if self._fault:
            raise NoDevice(self._fault)
        if self.device.is_gone or self._clock() - self._asked_at > LOST:
            raise NoDevice("The sound device is gone.")

    def read_next(self, now: Heard) -> bool:
        """Read what will be heard next, and say whether anything was lacking. Raises BadInput."""
        if now.transport is None:
            return False
        places = self._placed(self._source.rate)
        alone = None if now.scrub is None else now.scrub.segment(places)
        return self._pieces.read_next(now.transport, self._clock(), places, alone)

    def close(self) -> None:
        """Let the device and the file go."""
        self.device.close()
        self._source.close()

    def _fill(self, count: int) -> Samples:
        try:
            self._asked_at = self._clock()
            heard, now = self._line.heard(self._asked_at, count), self._moving()
            segment = None if heard is None else self._due(now, heard, count)
            return self._as_loud(self._voice.block(segment, count, self._pieces.fetch), now.factor)
        except Exception as error:  # on the device's thread nobody would hear of it
            self._fault = f"The sound stopped ({error})."
            return np.zeros((self._source.channels, count), np.float32)

    def _due(self, now: Heard, heard: int, count: int) -> Segment | None:
        places = self._placed(self._source.rate)
        if now.transport is None:
            return None
        if now.scrub is not None:
            return self.scrubbing.due(now.scrub, count, places, self._pieces)
        return segment_due(now.transport, heard, places)

    def _as_loud(self, samples: Samples, factor: float) -> Samples:
        """Return samples as loud as they are to be; another level comes over a block, without a click."""
        before, self._factor = factor if self._factor is None else self._factor, factor
        return samples * np.linspace(before, factor, samples.shape[1], dtype=np.float32)


class Player:
    """Plays the sound of `path` as a transport of `rate` frames a second moves.

    It runs `speed` times as fast as it was recorded, as a master has it: resampled. `changed` is called on
    the player's thread when there is trouble; keep it short.
    """

    def __init__(
        self,
        path: Path,
        rate: Fraction,
        speed: Fraction,
        changed: Callable[[], None],
        *,
        open_device: OpenDevice = Device,
        clock: Clock = time.monotonic_ns,
    ) -> None:
        self._path, self._rate, self._speed = path, rate, speed
        self._begins = Fraction(0)
        self._notify, self._open_device, self._clock = changed, open_device, clock
        self.trouble = ""
        self.is_about_file = False  # whether the trouble is the file's and not the device's
        self._now = Heard()
        self._scrubs = self._scrubbed = 0  # frames to be heard alone so far, and the last that was
        self._is_open = True
        self._changed = Condition()
        self._thread = Thread(target=self._work, name="sound", daemon=True)
        self._thread.start()

    def follow(
        self, transport: Transport, begins: Fraction = Fraction(0), *, is_on: bool, level: float = 0.0
    ) -> None:
        """Sound as `transport` moves from now on, or not at all. It never waits for a file or a device.

        The first sample belongs to the place `begins` of the film, in frames; `level` is in decibels. Of a
        reel that stands a frame is heard as it is come to, and as its sound is moved.
        """
        with self._changed:
            known, is_moved, self._begins = self._now, begins != self._begins, begins
            self._now = self._heard(transport, is_moved, 10 ** (level / 20)) if is_on else Heard()
            if not is_on:
                self.trouble = ""
            if _kind(known) != _kind(self._now):
                self._changed.notify()

    def _heard(self, transport: Transport, is_moved: bool, factor: float) -> Heard:
        scrub = scrubbed(self._now.transport, transport, is_moved, self._scrubs + 1)
        if scrub is not None:
            self._scrubs = scrub.number
        elif transport.speed == 0 and _motion(transport) == _motion(self._now.transport):
            scrub = self._now.scrub
        return Heard(transport, scrub, factor)

    def close(self) -> None:
        """Let the thread, the device and the file go; a device that hangs is left to itself."""
        with self._changed:
            self._is_open = False
            self._changed.notify()
        self._thread.join(PATIENCE)

    def _placed(self, hertz: int) -> Places:
        return Places(self._begins, self._rate, hertz)

    def _moving(self) -> Heard:
        return self._now

    def _is_due(self) -> bool:
        now = self._now
        if now.transport is None or self.trouble:
            return False
        if now.scrub is not None:
            return now.scrub.number > self._scrubbed
        return is_heard(now.transport, self._clock())

    def _slept(self) -> bool:
        """Wait until something is to be heard, and say whether the player is still open."""
        with self._changed:
            self._changed.wait_for(lambda: self._is_due() or not self._is_open)
            return self._is_open

    def _work(self) -> None:
        playing: _Playing | None = None
        while self._slept():
            try:
                playing = playing or self._opened()
                self._play(playing)
            except Exception as error:  # whatever a damaged file or a driver does, the desk lives on
                if playing is not None:
                    playing.close()
                    playing = None
                self._fail(error)
        if playing is not None:
            playing.close()

    def _opened(self) -> _Playing:
        source = open_anywhere(self._path, self._speed)
        try:
            device = self._open_device(source.rate, source.channels)
        except NoDevice:
            source.close()
            raise
        return _Playing(source, device, self._placed, self._moving, self._clock)

    def _play(self, playing: _Playing) -> None:
        """Play until it has been silent for a while."""
        playing.start()
        sounded = self._clock()
        while self._is_open and self._clock() - sounded < LINGER:
            if self._is_due() or not playing.is_silent:
                sounded = self._clock()
            playing.check()
            now, self._scrubbed = self._now, max(self._scrubbed, playing.scrubbing.heard)
            if not playing.read_next(now):
                self._dozed(now)
        playing.device.stop()

    def _dozed(self, now: Heard) -> None:
        """Wait a moment, or until it moves another way."""
        with self._changed:
            self._changed.wait_for(lambda: not self._is_open or _kind(now) != _kind(self._now), AGAIN)

    def _fail(self, error: Exception) -> None:
        self.is_about_file = not isinstance(error, NoDevice)
        is_known = isinstance(error, NoDevice | BadInput)
        self.trouble = str(error) if is_known else f"{self._path} cannot be played ({error})."
        if self._is_open:
            self._notify()


def _kind(heard: Heard) -> tuple[int | None, Scrub | None]:
    return _motion(heard.transport), heard.scrub


def _motion(transport: Transport | None) -> int | None:
    return None if transport is None else transport.motion
