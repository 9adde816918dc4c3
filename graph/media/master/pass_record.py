"""The record of a pass under way: what it makes, of what, and what each of its frames is.

It lies beside the master as lines of JSON: first what is made, then two sums a frame, and between these how
many frames had been read back by then. A line is written with its frame, and may be ahead of the file or
behind it when the process is killed; what both have is whole.
"""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Final, NamedTuple

import msgspec

from lamphouse.graph.media.codes.encode_planes import Cut
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.regular_file import TEXT, read_regular

LABEL: Final = "pass/2"
LARGEST: Final = 4 * TEXT  # a day of film takes half of it

READ_BACK: Final = 4096  # lines at the end, among which one says how many frames had been read back

MadeOf = Mapping[str, str]  # what a person calls each thing that decides the frames, and a digest of it


class Frame(NamedTuple):
    """The checksum of a frame's picture, the CRC-32 of the packet or file that holds it, and what was cut."""

    picture: str
    packet: int
    below: int = 0
    above: int = 0

    @property
    def cut(self) -> Cut:
        """Its pixels that were cut at either end."""
        return Cut(self.below, self.above)


class Left(NamedTuple):
    """What a record says: what is made of what, its frames, and how many of these had been read back."""

    made_of: MadeOf
    frames: list[Frame]
    read_back: int


class _Head(msgspec.Struct, frozen=True):
    record: str
    made_of: dict[str, str]


class PassRecord:
    """The record at `path` being written. It begins with the `frames` that are kept.

    Raises BadInput where it cannot be written.
    """

    def __init__(self, path: Path, made_of: MadeOf, frames: Sequence[Frame] = (), read_back: int = 0) -> None:
        head = msgspec.json.encode(_Head(LABEL, dict(made_of)))
        lines = b"\n".join([head, *map(msgspec.json.encode, (*frames, read_back)), b""])
        new = path.with_name(path.name + ".new")
        try:
            new.unlink(missing_ok=True)
            self._file = new.open("xb")  # never through a link
            self._begin(lines, new, path)
        except OSError as error:
            reason = error.strerror or error
            raise BadInput(
                f"{path} cannot be written ({reason}); make room or choose another place."
            ) from error
        self._frames = len(frames)

    def _begin(self, lines: bytes, new: Path, path: Path) -> None:
        try:
            self._file.write(lines)
            self._file.flush()
            os.fsync(self._file.fileno())
            new.replace(path)
        except OSError:
            self.close()
            new.unlink()
            raise

    def add(self, number: int, frame: Frame) -> None:
        """Write down frame `number`, unless it is among those that the record begins with. Raises OSError."""
        if number < self._frames:
            return
        self._file.write(msgspec.json.encode(frame) + b"\n")
        self._file.flush()

    def read_back(self, frames: int) -> None:
        """Write down that so many frames have been read back and found good. Raises OSError."""
        self._file.write(msgspec.json.encode(frames) + b"\n")

    def close(self) -> None:
        """Let the file go. A full disk that refuses its last line has been told of already."""
        with suppress(OSError):
            self._file.close()


def read_record(path: Path) -> Left | None:
    """Return what is made and its frames, up to the first line that is not whole; None for no record."""
    try:
        first, *lines = read_regular(path, LARGEST).split(b"\n")
        head = msgspec.json.decode(first, type=_Head)
        if head.record != LABEL:
            return None
        return _left(head.made_of, lines[:-1])
    except (OSError, ValueError):
        return None


def count_record(path: Path) -> tuple[int, int] | None:
    """Return how many frames a record holds and how many were read back, as `read_record` would find them.

    Only the lines are counted, so that it may be asked again and again; None for no record.
    """
    try:
        *lines, _ = read_regular(path, LARGEST).rsplit(b"\n", READ_BACK)
    except (OSError, ValueError):
        return None
    frames = sum(line.count(b"\n[") + line.startswith(b"[") for line in lines)
    said = (int(line) for line in reversed(lines) if line.isdigit())
    return frames, min(next(said, 0), frames)


def _left(made_of: MadeOf, lines: Sequence[bytes]) -> Left:
    frames: list[Frame] = []
    read_back = 0
    for line in lines:
        try:
            said = msgspec.json.decode(line, type=Frame | int)
        except ValueError:
            break
        if isinstance(said, int):
            read_back = said
        else:
            frames.append(said)
    return Left(made_of, frames, min(read_back, len(frames)))


def differences(one: MadeOf, other: MadeOf) -> list[str]:
    """Return what differs between two passes, by name, in the order of the first."""
    return [name for name in {**one, **other} if one.get(name) != other.get(name)]
