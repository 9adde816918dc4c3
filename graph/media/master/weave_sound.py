"""The sound of a movie that is woven anew: PCM, which each container puts into packets as it likes."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

import av

from lamphouse.graph.media.master.cloth import Cloth, Piece, fault
from lamphouse.graph.media.scan.opening import open_media
from lamphouse.graph.media.sound.read import sample_at

BYTES: Final = {"pcm_s16le": 2, "pcm_s24le": 3}  # of a sample
SPLIT: Final = ("mov",)  # containers of which PCM is read in other packets than were written


class FreshSound:
    """The bytes of the pieces' sound, in the places of the old."""

    def __init__(self, cloth: Cloth, stack: ExitStack) -> None:
        self._cloth, self._stack, self._done = cloth, stack, 0
        self._fresh: dict[Path, tuple[bytearray, Iterator[Any]]] = {}  # read and not yet placed, and the rest

    def instead(self, old: Any) -> Any:
        """Return the next packet with what is new in it, or itself where nothing is."""
        here = range(self._done, self._done + old.size)
        self._done = here.stop
        data = bytearray()
        for piece in self._cloth.pieces:
            place = _bytes_of(piece, old.stream.codec_context)
            first, stop = max(here.start, place.start), min(here.stop, place.stop)
            if first < stop:
                data = data or bytearray(bytes(old))
                data[first - here.start : stop - here.start] = self._next(piece, stop - first)
        return _like(old, data) if data else old

    def _next(self, piece: Piece, size: int) -> bytes:
        if piece.path not in self._fresh:
            self._fresh[piece.path] = self._open(piece)
        read, packets = self._fresh[piece.path]
        while len(read) < size:
            if (packet := next(packets, None)) is None:
                raise fault(self._cloth, "what was made anew has another number of samples")
            read += bytes(packet)
        data = bytes(read[:size])
        del read[:size]
        return data

    def _open(self, piece: Piece) -> tuple[bytearray, Iterator[Any]]:
        container = self._stack.enter_context(open_media(piece.path))
        return bytearray(), container.demux(container.streams.audio[0])


class Blocks:
    """Packets of PCM as a pass writes them, one beside each frame, of those that a movie is read in."""

    def __init__(self, rate: Fraction, coder: Any) -> None:
        self._rate, self._samples, self._size = rate, coder.sample_rate, _sample_size(coder)
        self._held, self._frames = bytearray(), 0

    def of(self, packet: Any) -> Iterator[Any]:
        """Yield those that one more packet completes."""
        self._held += bytes(packet)
        while len(self._held) >= self._due * self._size:
            yield self._block(self._due)

    def rest(self) -> Iterator[Any]:
        """Yield what is left at the end."""
        if samples := len(self._held) // self._size:
            yield self._block(samples)

    @property
    def _due(self) -> int:
        return self._at(self._frames + 1) - self._at(self._frames)

    def _at(self, frame: int) -> int:
        return sample_at(frame, self._rate, self._samples)

    def _block(self, samples: int) -> Any:
        block = av.Packet(bytes(self._held[: samples * self._size]))
        block.time_base, block.is_keyframe = Fraction(1, self._samples), True
        block.pts = block.dts = self._at(self._frames)
        block.duration = samples
        del self._held[: samples * self._size]
        self._frames += 1
        return block


def blocks_of(cloth: Cloth, stream: Any) -> Blocks | None:
    """Return what makes packets of a stream whole again, where they are read in others than were written."""
    is_split = stream.type == "audio" and cloth.delivery.container in SPLIT
    return (
        Blocks(cloth.rate, stream.codec_context) if is_split and _sample_size(stream.codec_context) else None
    )


def _sample_size(coder: Any) -> int:
    """Return how many bytes a sample of all channels has in PCM, 0 in another coding."""
    return BYTES.get(coder.name, 0) * int(coder.layout.nb_channels)


def _bytes_of(piece: Piece, coder: Any) -> range:
    """Return which bytes of the whole sound those of a piece are."""
    size = _sample_size(coder)
    return range(piece.sound.start * size, piece.sound.stop * size) if piece.sound else range(0)


def _like(old: Any, data: bytearray) -> Any:
    new = av.Packet(bytes(data))
    new.time_base, new.is_keyframe = old.time_base, old.is_keyframe
    new.pts, new.dts, new.duration = old.pts, old.dts, old.duration
    return new
