"""The sound device of this machine, through miniaudio. Where there is none, the desk works as before."""

from __future__ import annotations

import sys
from collections.abc import Callable, Generator
from ctypes import CDLL, CFUNCTYPE, c_char_p, c_int
from typing import Any, Final

import numpy as np

from lamphouse.graph.media.sound.readers import Samples

QUEUED: Final = 40  # milliseconds that the device has in hand when it asks for as much again

Fill = Callable[[int], Samples]


class NoDevice(Exception):
    """There is no sound device, or not any more. The message is a sentence for the person."""


class Device:
    """An opened device for float samples. Only one thread may call it; `fill` is called on another."""

    def __init__(self, rate: int, channels: int, backends: list[Any] | None = None) -> None:
        """Open the system's device, or one of `backends`. Raises NoDevice."""
        self.rate, self.queued = rate, rate * QUEUED // 1000
        self._is_started, self.is_gone = False, False
        try:
            import miniaudio

            _hush()
            self._device = miniaudio.PlaybackDevice(
                miniaudio.SampleFormat.FLOAT32,
                channels,
                rate,
                QUEUED,
                None,
                2,
                backends,
                app_name="Lamphouse",
            )
        except Exception as error:  # a missing library, a missing system library, a missing device
            raise NoDevice(f"No sound device was found ({_reason(error)}).") from error
        if self._device.backend == "Null" and not backends:
            self._device.close()
            raise NoDevice("No sound device was found.")
        self._device.stop_callback = self._stopped

    def start(self, fill: Fill) -> None:
        """Let the device ask for samples: `fill(count)` returns (channels, count). Raises NoDevice."""
        self._is_started = True
        asked = _asked(fill)
        next(asked)
        try:
            self._device.start(asked)
        except Exception as error:
            raise NoDevice(f"The sound device does not start ({_reason(error)}).") from error

    def stop(self) -> None:
        """Let the device rest: it asks for nothing more."""
        self._is_started = False
        try:
            self._device.stop()
        except Exception:  # it is away already
            self.is_gone = True

    def close(self) -> None:
        """Let the device go."""
        self._is_started = False
        self._device.close()

    def _stopped(self) -> None:
        self.is_gone = self._is_started


def _asked(fill: Fill) -> Generator[Any, int, None]:
    count = yield b""
    while True:
        count = yield np.ascontiguousarray(fill(count).T)


def _reason(error: Exception) -> str:
    """Return the library's own words, without its number."""
    return str(error.args[0] if error.args else error)


_QUIET: Final = CFUNCTYPE(None, c_char_p, c_int, c_char_p, c_int, c_char_p)(lambda *words: None)


def _hush() -> None:
    """Keep ALSA from writing pages about a machine without a device; we say it in one sentence."""
    if sys.platform == "linux":
        try:
            CDLL("libasound.so.2").snd_lib_error_set_handler(_QUIET)
        except (OSError, AttributeError):
            return
