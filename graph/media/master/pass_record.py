"""The record of a pass under way: what it makes, of what, and what each of its frames is.

It lies beside the master as lines of JSON: first what is made, then two sums a frame. A line is written with
its frame, and may be ahead of the file or behind it when the process is killed; what both have is whole.
"""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Final, NamedTuple

import msgspec

from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.regular_file import TEXT, read_regular

LABEL: Final = "pass/1"
LARGEST: Final = 4 * TEXT  # a day of film takes a third of it

MadeOf = Mapping[str, str]  # what a person calls each thing that decides the frames, and a digest of it


class Frame(NamedTuple):
    """CRC-32 of a frame's native codes, and in a movie of the packet that holds them."""

    codes: int
    packet: int | None = None


class _Head(msgspec.Struct, frozen=True):
    record: str
    made_of: dict[str, str]


class PassRecord:
    """The record at `path` being written. It begins with the `frames` that are kept.

    Raises BadInput where it cannot be written.
    """

    def __init__(self, path: Path, made_of: MadeOf, frames: Sequence[Frame] = ()) -> None:
        head = msgspec.json.encode(_Head(LABEL, dict(made_of)))
        lines = b"\n".join([head, *map(msgspec.json.encode, frames), b""])
        new = path.with_name(path.name + ".new")
        try:
            new.unlink(missing_ok=True)
            self._file = new.open("xb")  # never through a link
            self._file.write(lines)
            self._file.flush()
            os.fsync(self._file.fileno())
            new.replace(path)
        except OSError as error:
            reason = error.strerror or error
            raise BadInput(
                f"{path} cannot be written ({reason}); make room or choose another place."
            ) from error

    def add(self, frame: Frame) -> None:
        """Write down the next frame. Raises OSError."""
        self._file.write(msgspec.json.encode(frame) + b"\n")
        self._file.flush()

    def close(self) -> None:
        """Let the file go. A full disk that refuses its last line has been told of already."""
        with suppress(OSError):
            self._file.close()


def read_record(path: Path) -> tuple[MadeOf, list[Frame]] | None:
    """Return what is made and its frames, up to the first line that is not whole; None for no record."""
    try:
        first, *lines = read_regular(path, LARGEST).split(b"\n")
        head = msgspec.json.decode(first, type=_Head)
        if head.record != LABEL:
            return None
        return head.made_of, _frames(lines[:-1])
    except (OSError, ValueError):
        return None


def _frames(lines: Sequence[bytes]) -> list[Frame]:
    frames = []
    for line in lines:
        try:
            frames.append(msgspec.json.decode(line, type=Frame))
        except ValueError:
            break
    return frames


def differences(one: MadeOf, other: MadeOf) -> list[str]:
    """Return what differs between two passes, by name, in the order of the first."""
    return [name for name in {**one, **other} if one.get(name) != other.get(name)]
