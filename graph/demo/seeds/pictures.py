"""The clean film at the raster of a scan, of eight bits a channel, kept while it may be wanted again.

Grain lies over it and is coarser than these codes. What is out of focus is blurred once a picture.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from importlib.resources import as_file
from typing import Any, Final

import av
import numpy as np
from av.video.reformatter import ColorRange, Colorspace, Interpolation
from numpy.typing import NDArray
from scipy import ndimage

from lamphouse.graph.demo.canvas import Raster
from lamphouse.graph.demo.clean import MOVIE
from lamphouse.graph.demo.seeds.roll import Piece
from lamphouse.graph.demo.story import RATE

Codes8 = NDArray[np.uint8]
MOST_BYTES: Final = 400 << 20  # of pictures kept
SUBJECT: Final = (
    0.30,
    0.42,
)  # half width and half height of what stays sharp in a shallow picture, in its own size


@dataclass(frozen=True, slots=True)
class Kind:
    """How a picture of the clean film is wanted: the share of it that will fill the raster, and its focus."""

    share: float
    blur: float
    is_shallow: bool


class Pictures:
    """Pictures of the clean film, (3, height, width) of codes 0..255 in `video`."""

    def __init__(self, raster: Raster, most: int = MOST_BYTES) -> None:
        self.raster = raster
        self._most, self._bytes = most, 0
        self._kept: dict[tuple[int, Kind], Codes8] = {}

    def take(self, piece: Piece, frames: Sequence[int]) -> list[Codes8]:
        """Return frames of the scene of a shot, each the whole scene at the size that its window asks for."""
        first = piece.scene.first
        kind = Kind(piece.window.share, piece.blur, piece.is_shallow)
        wanted = sorted({int(frame) for frame in frames if (first + frame, kind) not in self._kept})
        found = {at: self._kept[first + at, kind] for at in map(int, frames) if at not in wanted}
        sharp = _decoded(first, wanted, self.size(kind.share))
        for at, picture in sharp:
            found[at] = _in_focus(picture, kind, self.raster.height)
            self._keep(first + at, kind, found[at])
        return [found[int(frame)] for frame in frames]

    def size(self, share: float) -> tuple[int, int]:
        """Return width and height of the whole scene, when `share` of it fills the raster."""
        return round(self.raster.width / share), round(self.raster.height / share)

    def _keep(self, frame: int, kind: Kind, picture: Codes8) -> None:
        self._kept[frame, kind] = picture
        self._bytes += picture.nbytes
        while self._bytes > self._most:
            self._bytes -= self._kept.pop(next(iter(self._kept))).nbytes


def _decoded(first: int, frames: list[int], size: tuple[int, int]) -> Iterator[tuple[int, Codes8]]:
    """Yield frames of the clean film counted from `first`, where a key picture stands, at a size."""
    if not frames:
        return
    with as_file(MOVIE) as path, av.open(str(path)) as container:
        stream = container.streams.video[0]
        stream.thread_type = "AUTO"
        container.seek(round(first / RATE * av.time_base))
        for frame in container.decode(stream):
            at = round(float(frame.time or 0) * RATE) - first
            if at in frames:
                yield at, _planes(frame, size)
            if at >= frames[-1]:
                return


def _planes(frame: Any, size: tuple[int, int]) -> Codes8:
    small = frame.reformat(
        *size,
        "rgb24",
        src_colorspace=Colorspace.ITU709,
        dst_colorspace=Colorspace.ITU709,
        src_color_range=ColorRange.JPEG,
        dst_color_range=ColorRange.JPEG,
        interpolation=Interpolation.AREA,
    )
    return np.ascontiguousarray(small.to_ndarray().transpose(2, 0, 1))


def _in_focus(picture: Codes8, kind: Kind, height: int) -> Codes8:
    """Return a picture as the lens drew it: a point becomes about a disc."""
    if not kind.blur:
        return picture
    box = max(2, round(kind.blur * height * 0.75))
    soft = picture.astype(np.float32)
    for axis in (1, 2, 1, 2):
        soft = ndimage.uniform_filter1d(soft, box, axis, mode="nearest")
    if kind.is_shallow:
        soft += (picture - soft) * _subject(picture.shape[1:])
    return np.asarray(np.rint(soft), np.uint8)


def _subject(shape: tuple[int, ...]) -> NDArray[np.float32]:
    """Return where a shallow picture is sharp: 1 in an ellipse around its middle, 0 far from it."""
    down, across = (np.linspace(-0.5, 0.5, size, dtype=np.float32) for size in shape)
    radius = np.hypot(across[None] / SUBJECT[0], down[:, None] / SUBJECT[1])
    return np.asarray(np.clip((1.2 - radius) / 0.4, 0, 1), np.float32)
