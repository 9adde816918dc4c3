"""A new movie of the packets of an old one and, in some places, of pieces that were made anew.

Every packet that is not replaced is the very same bytes at the same times, and what the container says of
the whole stays; nothing is decoded.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Callable, Generator, Iterable, Iterator
from contextlib import ExitStack, closing, suppress
from fractions import Fraction
from itertools import zip_longest
from pathlib import Path
from typing import Any, Final

import av

from lamphouse.graph.media.master.cloth import Cloth, Piece, fault
from lamphouse.graph.media.master.facts import facts_of
from lamphouse.graph.media.master.labels import label_like
from lamphouse.graph.media.master.movie_out import new_container, settle
from lamphouse.graph.media.master.mxf_header import identity_of
from lamphouse.graph.media.master.pass_record import differences
from lamphouse.graph.media.master.weave_sound import FreshSound, blocks_of
from lamphouse.graph.media.scan.opening import open_media
from lamphouse.nodes.errors import BadInput

Go = Callable[[int], None]  # is called at each packet with the pictures so far, and may raise


_DURATION: Final = re.compile(r"([0-9]{2,5}):([0-9]{2}):([0-9]{2}\.[0-9]{1,9})")
_NOTHING: Final = Piece(range(0), Path())


def weave(cloth: Cloth, new: Path, go: Go) -> None:
    """Write the new movie at `new`. Raises BadInput for pieces that do not fit, OSError, what PyAV raises."""
    with open_media(cloth.old) as source, closing(new_container(new, cloth.delivery)) as sink:
        streams = {stream.index: _stream_like(stream, sink, cloth) for stream in _streams(source)}
        lengths = {stream.index: _length(stream) for stream in _streams(source)}
        label_like(source, sink, streams[source.streams.video[0].index], cloth.delivery.container)
        blocks = {stream.index: blocks_of(cloth, stream) for stream in _streams(source)}
        starts: dict[int, int] = {}  # before 0 where a decoder needs samples before the first that counts
        done = 0
        with closing(_packets(cloth, source)) as packets:
            for old, packet, index in packets:
                done += old.stream.type == "video"
                go(done)
                start = min(0, starts.setdefault(index, packet.pts))
                _end_with(packet, start, lengths[index])
                whole = blocks[index]
                _mux(sink, streams[index], (packet,) if whole is None else whole.of(packet))
        for index, whole in blocks.items():
            _mux(sink, streams[index], () if whole is None else whole.rest())
    with suppress(ValueError):  # then the old one does not state it either
        settle(new, cloth.delivery, cloth.shape, identity_of(cloth.old))


def check_woven(cloth: Cloth, new: Path, go: Go) -> None:
    """Hold the new movie on the disk against the old one and the pieces, packet by packet.

    Raises CheckFailed where anything else than the pieces is another.
    """
    if others := differences(facts_of(cloth.old), facts_of(new)):
        raise fault(cloth, f"{' and '.join(others)} would change")
    with open_media(cloth.old) as source, open_media(new) as woven:
        done = 0
        with closing(_packets(cloth, source)) as meant:
            for each, found in zip_longest(meant, _filled(woven)):
                if each is None or found is None or not _is_same(each, found):
                    raise fault(cloth, "what was written came back changed")
                done += found.stream.type == "video"
                go(done)


def _is_same(each: tuple[Any, Any, int], found: Any) -> bool:
    old, meant, index = each
    # How long the last packet of coded sound is, readers of Matroska reckon, and may be a tick off. The dts
    # of pictures that are shown in another order than they lie in is their guess altogether.
    spare = 1 if old.stream.type == "audio" else 0
    return (
        (found.pts, found.stream.index, found.is_keyframe) == (meant.pts, index, meant.is_keyframe)
        and abs(found.duration - old.duration) <= spare
        and bytes(found) == bytes(meant)
    )


def _streams(container: Any) -> list[Any]:
    return [*container.streams.video[:1], *container.streams.audio[:1]]


def _stream_like(old: Any, sink: Any, cloth: Cloth) -> Any:
    new = sink.add_stream_from_template(old)
    if old.type == "video":
        new.codec_context.framerate = cloth.rate  # or Matroska would not state how long a frame is
        new.codec_context.sample_aspect_ratio = cloth.shape.pixel_aspect  # nor MOV how wide a pixel
    new.metadata.clear()
    return new


def _length(stream: Any) -> int | None:
    """Return how many ticks long a stream is, where the container says so, as Matroska does."""
    said = _DURATION.fullmatch(stream.metadata.get("DURATION", ""))
    if said is None:
        return None
    hours, minutes, seconds = said.groups()
    return round((int(hours) * 3600 + int(minutes) * 60 + Fraction(seconds)) / Fraction(stream.time_base))


def _mux(sink: Any, stream: Any, packets: Iterable[Any]) -> None:
    for packet in packets:
        packet.stream = stream
        sink.mux(packet)


def _end_with(packet: Any, start: int, length: int | None) -> None:
    """Have the last packet end where the stream did: what is read of its length is rounded to a tick."""
    if length is not None and packet.pts + packet.duration * 3 // 2 >= start + length:
        packet.duration = start + length - packet.pts


def _filled(container: Any) -> Iterator[Any]:
    return (packet for packet in container.demux(_streams(container)) if packet.size)


def _packets(cloth: Cloth, source: Any) -> Generator[tuple[Any, Any, int], None, None]:
    """Yield each packet of the old movie, the one that is to stand in its place, and its stream's number."""
    with ExitStack() as stack:
        pictures, sounds = _Fresh(cloth, source, stack), FreshSound(cloth, stack)
        for packet in _filled(source):
            index = packet.stream.index
            if packet.stream.type == "video":
                number = round(packet.pts * packet.time_base * cloth.rate)
                yield packet, pictures.instead(packet, number), index
            else:
                yield packet, sounds.instead(packet), index


class _Fresh:
    """The packets of the pieces' pictures."""

    def __init__(self, cloth: Cloth, source: Any, stack: ExitStack) -> None:
        self._cloth, self._source, self._stack = cloth, source, stack
        self._packets: dict[Path, Iterator[Any]] = {}

    def instead(self, old: Any, number: int) -> Any:
        """Return what stands in place of the packet of frame `number`: the old one itself, or a piece's."""
        place = bisect_right(self._cloth.pieces, number, key=lambda piece: piece.frames.start) - 1
        piece = self._cloth.pieces[place] if place >= 0 else _NOTHING
        if number not in piece.frames:
            return old
        if piece.path not in self._packets:
            self._packets[piece.path] = self._open(piece)
        return self._timed(next(self._packets[piece.path], None), old, piece)

    def _open(self, piece: Piece) -> Iterator[Any]:
        container = self._stack.enter_context(open_media(piece.path))
        stream, mine = container.streams.video[0], self._source.streams.video[0]
        if stream.codec_context.extradata != mine.codec_context.extradata:
            raise BadInput(
                f"The encoder here is not set up as the one that wrote {self._cloth.old}; transfer the reel "
                "again, or use the version that wrote it."
            )
        return (packet for packet in container.demux(stream) if packet.size)

    def _timed(self, fresh: Any, old: Any, piece: Piece) -> Any:
        if fresh is None:
            raise fault(self._cloth, "what was made anew has another number of packets")
        pts = old.pts
        if piece.times is not None:
            pts = piece.times[round(fresh.pts * fresh.time_base * self._cloth.rate)]
        fresh.time_base = old.time_base
        fresh.pts, fresh.dts, fresh.duration = pts, old.dts, old.duration
        return fresh


def times_of(movie: Path, rate: Fraction) -> list[tuple[int, int, bool]]:
    """Return of each packet of the pictures, in the order of the file: frame, ticks, whether it is a key."""
    try:
        with open_media(movie) as container:
            stream: Any = container.streams.video[0]
            packets = (packet for packet in container.demux(stream) if packet.size)
            return [(round(p.pts * stream.time_base * rate), p.pts, p.is_keyframe) for p in packets]
    except (av.FFmpegError, OSError) as error:
        raise BadInput(f"{movie} cannot be read ({error.strerror}); see to the file.") from error
