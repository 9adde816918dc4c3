"""A new movie of the packets of an old one and, in some places, of pieces that were made anew.

Every packet that is not replaced is the very same bytes at the same times, and what the container says of
the whole stays; nothing is decoded.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Callable, Generator, Iterator, Sequence
from contextlib import ExitStack, closing, suppress
from fractions import Fraction
from itertools import zip_longest
from operator import itemgetter
from pathlib import Path
from typing import Any, Final, NamedTuple

import av

from lamphouse.graph.media.master.facts import facts_of
from lamphouse.graph.media.master.matroska_aspect import write_pixel_aspect
from lamphouse.graph.media.master.movie_out import new_container
from lamphouse.graph.media.master.pass_record import differences
from lamphouse.graph.media.scan.opening import open_media
from lamphouse.graph.reel.records import Delivery
from lamphouse.nodes.errors import BadInput, CheckFailed

Go = Callable[[int], None]  # is called at each packet with the pictures so far, and may raise


class Piece(NamedTuple):
    """Frames of a movie, made anew: a movie of their own. `times` are theirs in the whole, in order.

    Where the packets of sound are replaced too, `sound` is the number of the first.
    """

    frames: range
    path: Path
    times: Sequence[int] | None = None  # ticks; None where packets lie in the order in which they are shown
    sound: int | None = None


_DURATION: Final = re.compile(r"([0-9]{2,5}):([0-9]{2}):([0-9]{2}\.[0-9]{1,9})")
_NOTHING: Final = Piece(range(0), Path())


class Cloth(NamedTuple):
    """What is woven: the old movie, its pieces in order, its delivery, rate and pixel aspect."""

    old: Path
    pieces: Sequence[Piece]
    delivery: Delivery
    rate: Fraction
    pixel_aspect: Fraction


def weave(cloth: Cloth, new: Path, go: Go) -> None:
    """Write the new movie at `new`. Raises BadInput for pieces that do not fit, OSError, what PyAV raises."""
    with open_media(cloth.old) as source, closing(new_container(new, cloth.delivery)) as sink:
        streams = {stream.index: _stream_like(stream, sink) for stream in _streams(source)}
        lengths = {stream.index: _length(stream) for stream in _streams(source)}
        starts: dict[int, int] = {}  # before 0 where a decoder needs samples before the first that counts
        done = 0
        with closing(_packets(cloth, source)) as packets:
            for old, packet, index in packets:
                done += old.stream.type == "video"
                go(done)
                start = min(0, starts.setdefault(index, packet.pts))
                _end_with(packet, start, lengths[index])
                packet.stream = streams[index]
                sink.mux(packet)
    if cloth.delivery.container == "matroska":
        with suppress(ValueError):  # then the old one does not state it either
            write_pixel_aspect(new, cloth.pixel_aspect)


def check_woven(cloth: Cloth, new: Path, go: Go) -> None:
    """Hold the new movie on the disk against the old one and the pieces, packet by packet.

    Raises CheckFailed where anything else than the pieces is another.
    """
    if others := differences(facts_of(cloth.old), facts_of(new)):
        raise _fault(cloth, f"{' and '.join(others)} would change")
    with open_media(cloth.old) as source, open_media(new) as woven:
        done = 0
        with closing(_packets(cloth, source)) as meant:
            for each, found in zip_longest(meant, _filled(woven)):
                if each is None or found is None or not _is_same(each, found):
                    raise _fault(cloth, "what was written came back changed")
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


def _fault(cloth: Cloth, what: str) -> CheckFailed:
    return CheckFailed(
        f"The new {cloth.old.name} is not the old one but for what was made anew, for {what}; the old one "
        "stays as it was: transfer the reel again."
    )


def _streams(container: Any) -> list[Any]:
    return [*container.streams.video[:1], *container.streams.audio[:1]]


def _stream_like(old: Any, sink: Any) -> Any:
    new = sink.add_stream_from_template(old)
    if old.type == "video":
        new.codec_context.framerate = old.average_rate  # or Matroska would not state how long a frame is
    new.metadata.clear()
    for name, value in old.metadata.items():
        if name.lower() == "timecode":
            new.metadata["timecode"] = value
    return new


def _length(stream: Any) -> int | None:
    """Return how many ticks long a stream is, where the container says so, as Matroska does."""
    said = _DURATION.fullmatch(stream.metadata.get("DURATION", ""))
    if said is None:
        return None
    hours, minutes, seconds = said.groups()
    return round((int(hours) * 3600 + int(minutes) * 60 + Fraction(seconds)) / Fraction(stream.time_base))


def _end_with(packet: Any, start: int, length: int | None) -> None:
    """Have the last packet end where the stream did: what is read of its length is rounded to a tick."""
    if length is not None and packet.pts + packet.duration * 3 // 2 >= start + length:
        packet.duration = start + length - packet.pts


def _filled(container: Any) -> Iterator[Any]:
    return (packet for packet in container.demux(_streams(container)) if packet.size)


def _packets(cloth: Cloth, source: Any) -> Generator[tuple[Any, Any, int], None, None]:
    """Yield each packet of the old movie, the one that is to stand in its place, and its stream's number."""
    with ExitStack() as stack:
        pictures, sounds = _Fresh(cloth, source, stack, "video"), _Fresh(cloth, source, stack, "audio")
        sound = 0  # packets so far
        for packet in _filled(source):
            index = packet.stream.index
            if packet.stream.type == "video":
                number = round(packet.pts * packet.time_base * cloth.rate)
                yield packet, pictures.instead(packet, number), index
            else:
                yield packet, sounds.instead(packet, sound), index
                sound += 1


class _Fresh:
    """The packets of the pieces for one kind of stream."""

    def __init__(self, cloth: Cloth, source: Any, stack: ExitStack, kind: str) -> None:
        self._cloth, self._source, self._stack, self._kind = cloth, source, stack, kind
        firsts = [p.frames.start if kind == "video" else p.sound for p in cloth.pieces]
        self._pieces = [(f, p) for f, p in zip(firsts, cloth.pieces, strict=True) if f is not None]
        self._packets: dict[Path, Iterator[Any]] = {}

    def instead(self, old: Any, number: int) -> Any:
        """Return what stands in the place of packet `number`: the old one itself, or one of a piece."""
        place = bisect_right(self._pieces, number, key=itemgetter(0)) - 1
        first, piece = self._pieces[place] if place >= 0 else (number, _NOTHING)
        if number - first >= len(piece.frames):
            return old
        if piece.path not in self._packets:
            self._packets[piece.path] = self._open(piece)
        return self._timed(next(self._packets[piece.path], None), old, piece)

    def _open(self, piece: Piece) -> Iterator[Any]:
        container = self._stack.enter_context(open_media(piece.path))
        stream = getattr(container.streams, self._kind)[0]
        mine = getattr(self._source.streams, self._kind)[0]
        if stream.codec_context.extradata != mine.codec_context.extradata:
            raise BadInput(
                f"The encoder here is not set up as the one that wrote {self._cloth.old}; transfer the reel "
                "again, or use the version that wrote it."
            )
        return (packet for packet in container.demux(stream) if packet.size)

    def _timed(self, fresh: Any, old: Any, piece: Piece) -> Any:
        if fresh is None or (self._kind == "audio" and fresh.size != old.size):
            raise _fault(self._cloth, "what was made anew has another number of packets, or of samples")
        pts = old.pts
        if self._kind == "video" and piece.times is not None:
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
