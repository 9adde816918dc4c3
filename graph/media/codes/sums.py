"""Checksums of pictures and sound that anybody can check without us: they are those of ffmpeg's framemd5.

A picture's is the MD5 of its native planes, in the order of its pixel format, without padding of lines;
sound's are MD5s of a second each of interleaved integers, 16 bits as they are and 24 at the top of 32. MD5 is
for finding accidents and not for keeping out somebody who means harm.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from typing import Any, Final

import av
import numpy as np
from numpy.typing import NDArray

GREEN_FIRST: Final = (1, 2, 0)  # planes of ffmpeg's gbrp formats, of R', G', B'


def frame_sum(frame: av.VideoFrame) -> str:
    """Return the checksum of a frame in its native codes."""
    return _md5(_lines(frame))


def frame_size(frame: av.VideoFrame) -> int:
    """Return how many bytes of codes a frame has, which its checksum is of."""
    return sum(lines.size for lines in _lines(frame))


def still_sum(codes: NDArray[np.uint16], container: str, bits: int) -> str:
    """Return the checksum of codes (3, h, w) of R', G', B' as ffmpeg decodes them from such a still."""
    if container == "dpx" and bits == 16:
        return _md5([np.moveaxis(codes, 0, -1).astype(">u2")])
    if container == "dpx":
        return _md5(codes[index] for index in GREEN_FIRST)
    return _md5([np.moveaxis(codes, 0, -1)])


class SecondSums:
    """Checksums of every whole or last second of sound, as its samples come."""

    def __init__(self, rate: int) -> None:
        self.rate, self._left = rate, rate
        self._open = _new()
        self.whole: list[str] = []
        self.samples = 0

    def add(self, samples: NDArray[Any]) -> None:
        """Take the next samples (n, channels): int16, or int32 with 24 bits at the top."""
        self.samples += len(samples)
        while len(samples):
            part, samples = samples[: self._left], samples[self._left :]
            self._open.update(np.ascontiguousarray(part).data)
            self._left -= len(part)
            if not self._left:
                self._close()

    def all(self) -> tuple[str, ...]:
        """Return the checksum of every second, the last of which may be short."""
        rest = () if self._left == self.rate else (self._open.hexdigest(),)
        return (*self.whole, *rest)

    def _close(self) -> None:
        self.whole.append(self._open.hexdigest())
        self._open, self._left = _new(), self.rate


def _lines(frame: av.VideoFrame) -> Iterable[NDArray[np.uint8]]:
    form = frame.format
    for index, plane in enumerate(frame.planes):
        parts = [part for part in form.components if part.plane == index]
        size = sum((part.bits + 7) // 8 * part.width for part in parts)
        view: NDArray[np.uint8] = np.frombuffer(plane, np.uint8)  # type: ignore[call-overload]
        if plane.line_size == 0:  # a palette, which framemd5 counts as it lies
            yield view
        else:
            yield view.reshape(-1, plane.line_size)[: parts[0].height, :size]


def _md5(parts: Iterable[NDArray[Any]]) -> str:
    found = _new()
    for part in parts:
        found.update(np.ascontiguousarray(part).data)
    return str(found.hexdigest())


def _new() -> Any:
    return hashlib.md5(usedforsecurity=False)
