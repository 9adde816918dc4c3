"""Which packet shows frame n.

Containers state the order of presentation; some state it wrongly, and some lack pictures
that they list. So the head is decoded and compared, and where it disagrees the whole file
is decoded once and its pictures are counted.
"""

from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Final

from av import VideoFrame

from lamphouse.graph.media.scan.decoding import Decoding
from lamphouse.graph.media.scan.packet_index import PacketIndex
from lamphouse.nodes.errors import BadInput

COMPARED: Final = 40  # pictures: more than any reordering reaches


@dataclass(frozen=True, slots=True)
class Numbering:
    """`order[n]` is the ordinal of the packet that shows frame n; `sample` a picture from the head."""

    order: list[int]
    sample: VideoFrame
    notes: tuple[str, ...]


def number_pictures(path: Path, index: PacketIndex) -> Numbering:
    """Number the pictures of a movie. Raises BadInput where pictures cannot be tied to packets."""
    decoding = Decoding(path, index)
    try:
        sample = _first(decoding)
        stated = index.stated_order()
        if stated is not None and (index.intra or _head_agrees(decoding, stated)):
            return Numbering(stated, sample, ())
        counted = [ordinal for ordinal, _ in decoding.pictures(0)]
    finally:
        decoding.close()
    order = checked_order(path, counted)
    if index.hidden and stated is not None:
        raise BadInput(
            f"The frames of {path} cannot be numbered: an edit list hides {len(index.hidden)} packets by "
            "timestamps that do not agree with the pictures; make the file again from its source."
        )
    return Numbering(order, sample, _notes(index, stated, order))


def sample_of(path: Path, index: PacketIndex) -> VideoFrame:
    """Return a picture from the head of a movie. Raises BadInput where none can be decoded."""
    decoding = Decoding(path, index)
    try:
        return _first(decoding)
    finally:
        decoding.close()


def _first(decoding: Decoding) -> VideoFrame:
    sample = next((picture for _, picture in decoding.pictures(0)), None)
    if sample is None:
        raise BadInput(
            f"No picture of {decoding.path} can be decoded; it may be damaged, or cut off at its head."
        )
    return sample


def _head_agrees(decoding: Decoding, stated: list[int]) -> bool:
    """Say whether the head comes out as stated; a picture may stay away where damage was found."""
    seen = [ordinal for ordinal, _ in islice(decoding.pictures(0), COMPARED)]
    if seen == stated[:COMPARED]:
        return True
    if decoding.prediction.is_unbroken or None in seen:
        return False
    # Only a stream without a container can have been cut at its head, and then nothing shows what is lost.
    begins = bool(decoding.index.ordinals) or seen[0] == stated[0]
    came = set(seen)
    return begins and seen == [ordinal for ordinal in stated if ordinal in came]


def checked_order(path: Path, counted: list[int | None]) -> list[int]:
    """Return decoded ordinals as an order. Raises BadInput where one is missing or comes twice."""
    order = [ordinal for ordinal in counted if ordinal is not None]
    if len(set(order)) != len(counted):
        raise BadInput(
            f"The frames of {path} cannot be numbered: its decoder does not say which packet a picture "
            "comes from; convert the movie to FFV1 in Matroska first."
        )
    return order


def _notes(index: PacketIndex, stated: list[int] | None, order: list[int]) -> tuple[str, ...]:
    why = "are missing or repeat" if stated is None else "do not agree with its pictures"
    notes = [f"Timestamps {why}: the frames were numbered by decoding the whole file once."]
    lost = len(index.shown()) - len(order)
    if lost:
        notes.append(f"{lost} packets give no picture of their own and are not counted.")
    if min(order) > 0 and index.shown()[0] < min(order):
        notes.append("The file starts inside a group of pictures; frame 0 is the first that can be decoded.")
    return tuple(notes)
