"""The shape of pixels, written into the header of a finished Matroska file.

The movie library has no way to hand a pixel aspect to its Matroska writer, which then
states that the shape is unknown. The header has spare bytes beside that statement:
the right one is put there, nothing else moves, and the checksum over it is made again.
"""

import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Final

# Element identifiers: RFC 9559 (Matroska), RFC 8794 (EBML).
SEGMENT: Final = 0x18538067
TRACKS: Final = 0x1654AE6B
CLUSTER: Final = 0x1F43B675
TRACK_ENTRY: Final = 0xAE
TRACK_TYPE: Final = 0x83
VIDEO: Final = 0xE0
PIXEL_WIDTH: Final = 0xB0
PIXEL_HEIGHT: Final = 0xBA
DISPLAY_WIDTH: Final = 0x54B0
DISPLAY_HEIGHT: Final = 0x54BA
DISPLAY_UNIT: Final = 0x54B2
VOID: Final = 0xEC
CRC_32: Final = 0xBF

MOVIE: Final = 1  # TrackType
RATIO: Final = 3  # DisplayUnit: width and height are a display aspect ratio; without it they are pixels
HEADER: Final = 1 << 16  # bytes within which the header lies
LARGEST: Final = 0xFFFF  # two bytes


@dataclass(frozen=True, slots=True)
class Element:
    """One element: identifier, payload, and how many bytes its size is written in."""

    id: int
    payload: bytes
    size_bytes: int = 1

    @property
    def number(self) -> int:
        """The payload as an unsigned integer."""
        return int.from_bytes(self.payload)

    @property
    def data(self) -> bytes:
        """The element as it is written."""
        size = len(self.payload)
        length = max(self.size_bytes, size.bit_length() // 7 + 1)
        marker = 1 << (7 * length)
        name = self.id.to_bytes((self.id.bit_length() + 7) // 8)
        return name + (marker | size).to_bytes(length) + self.payload


def write_pixel_aspect(path: Path, aspect: Fraction) -> None:
    """State the pixel aspect of the first movie track of a Matroska file, in place.

    Lengths and offsets stay, so that seek tables stay true. Raises ValueError where the file
    has no such track, or not the spare bytes that the writer leaves.
    """
    with path.open("r+b") as file:
        start, size = _find_tracks(file.read(HEADER))
        file.seek(start)
        tracks = _tracks_with_aspect(file.read(size), aspect)
        file.seek(start)
        file.write(tracks)


def _find_tracks(head: bytes) -> tuple[int, int]:
    """Return where the payload of Tracks begins, and its size."""
    at = 0
    while at < len(head):
        id_, at, _ = read_number(head, at, with_marker=True)
        size, at, _ = read_number(head, at)
        if id_ == TRACKS:
            return at, size
        if id_ == CLUSTER:
            break
        at += 0 if id_ == SEGMENT else size
    raise ValueError("no track header comes before the pictures")


def read_number(data: bytes, at: int, *, with_marker: bool = False) -> tuple[int, int, int]:
    """Return a variable-size integer of RFC 8794, the place after it, and its length."""
    if at >= len(data) or not data[at]:
        raise ValueError("the header, with its tracks, is cut off or damaged")
    length = 9 - data[at].bit_length()
    value = int.from_bytes(data[at : at + length])
    return value if with_marker else value & ((1 << 7 * length) - 1), at + length, length


def _elements(data: bytes) -> Iterator[Element]:
    at = 0
    while at < len(data):
        id_, at, _ = read_number(data, at, with_marker=True)
        size, at, length = read_number(data, at)
        yield Element(id_, data[at : at + size], length)
        at += size


def _tracks_with_aspect(tracks: bytes, aspect: Fraction) -> bytes:
    elements = [element for element in _elements(tracks) if element.id != CRC_32]
    has_checksum = tracks[0] == CRC_32
    for index, element in enumerate(elements):
        if element.id == TRACK_ENTRY and _child(element.payload, TRACK_TYPE).number == MOVIE:
            entry = _entry_with_aspect(element.payload, aspect)
            elements[index] = Element(TRACK_ENTRY, entry, element.size_bytes)
            break
    else:
        raise ValueError("there is no movie track")
    data = b"".join(element.data for element in elements)
    checksum = Element(CRC_32, zlib.crc32(data).to_bytes(4, "little")).data if has_checksum else b""
    return checksum + data


def _child(data: bytes, id_: int) -> Element:
    for element in _elements(data):
        if element.id == id_:
            return element
    raise ValueError(f"element {id_:X} is missing from the header")


def _entry_with_aspect(entry: bytes, aspect: Fraction) -> bytes:
    """Return a TrackEntry of the same length, its spare bytes spent on the display size."""
    for padding in (0, 1):  # one byte left over cannot be an element: a longer number takes it
        kept = [
            _video_with_aspect(element, aspect, padding) if element.id == VIDEO else element
            for element in _elements(entry)
            if element.id != VOID
        ]
        data = b"".join(element.data for element in kept)
        spare = len(entry) - len(data)
        if spare == 0:
            return data
        if 2 <= spare <= 128:
            return data + Element(VOID, bytes(spare - 2)).data
    raise ValueError("the header has no room for the pixel aspect")


def _video_with_aspect(video: Element, aspect: Fraction, padding: int) -> Element:
    width, height = (_child(video.payload, id_).number for id_ in (PIXEL_WIDTH, PIXEL_HEIGHT))
    display, unit = _display(width, height, aspect)
    new = [
        Element(DISPLAY_WIDTH, bytes(padding) + _unsigned(display[0])),
        Element(DISPLAY_HEIGHT, _unsigned(display[1])),
        *([Element(DISPLAY_UNIT, _unsigned(unit))] if unit else []),
    ]
    old = (DISPLAY_WIDTH, DISPLAY_HEIGHT, DISPLAY_UNIT)
    kept = [element for element in _elements(video.payload) if element.id not in old]
    return Element(VIDEO, b"".join(element.data for element in (*kept, *new)), video.size_bytes)


def _display(width: int, height: int, aspect: Fraction) -> tuple[tuple[int, int], int]:
    """Return the display size and its unit: pixels where that is exact, else a ratio."""
    shown = width * aspect
    if shown.denominator == 1 and shown <= LARGEST:
        return (int(shown), height), 0
    ratio = shown / height
    limit = LARGEST if ratio <= 1 else int(LARGEST / ratio)
    return ratio.limit_denominator(max(limit, 1)).as_integer_ratio(), RATIO


def _unsigned(number: int) -> bytes:
    return number.to_bytes(max(1, (number.bit_length() + 7) // 8))
