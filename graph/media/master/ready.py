"""What lies ready of a master before its pass begins: runs of frames that earlier passes made, to be kept.

They come from one file or from many: from a pass that was cut off, and from segments that were made apart.
"""

from __future__ import annotations

import re
from collections.abc import Generator, Iterable, Iterator
from contextlib import closing
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Final

from lamphouse.graph.media.master.pass_record import Frame, Left, MadeOf, differences, read_record
from lamphouse.graph.media.master.resume import Earlier, EarlierMovie, EarlierStills, Kept
from lamphouse.graph.media.master.under_way import UnderWay, remove
from lamphouse.nodes.errors import BadInput

_NAME: Final = re.compile(r"([0-9]{1,9})-([0-9]{1,9})\.")  # of a segment: its frames


@dataclass(frozen=True, slots=True)
class Run:
    """The frames `frames` of a master, half-open, which lie ready in `earlier`."""

    earlier: Earlier
    frames: range

    @property
    def read_back(self) -> list[Frame]:
        """Those at its beginning that need not be decoded again."""
        return list(self.earlier.read_back[self._skipped : self._skipped + len(self.frames)])

    def kept(self) -> Generator[Kept, None, None]:
        """Yield each of them, in order, up to one that is not what it was."""
        with closing(self.earlier.kept()) as kept:
            yield from islice(kept, self._skipped, self._skipped + len(self.frames))

    @property
    def _skipped(self) -> int:
        return self.frames.start - self.earlier.first


class Ready:
    """Runs of a master's frames, in order, each in a movie or a folder of stills."""

    def __init__(self, earlier: Iterable[Earlier] = ()) -> None:
        self.runs = tuple(_in_turn(earlier))

    def gaps(self, frames: int) -> Iterator[range]:
        """Yield what is missing of a master of so many `frames`."""
        start = 0
        for run in self.runs:
            if start < run.frames.start:
                yield range(start, run.frames.start)
            start = run.frames.stop
        if start < frames:
            yield range(start, frames)

    def kept(self) -> Generator[Kept, None, None]:
        """Yield every frame that lies ready, in order. Raises BadInput for one that is not what it was."""
        for run in self.runs:
            with closing(run.kept()) as kept:
                for number in run.frames:
                    if (frame := next(kept, None)) is None:
                        raise BadInput(
                            f"{run.earlier.path} is not what its record says at frame {number} of the "
                            "master; remove that file."
                        )
                    yield frame

    @property
    def read_back(self) -> list[Frame | None]:
        """What need not be decoded again, each at its number."""
        found: list[Frame | None] = []
        for run in self.runs:
            found += [None] * (run.frames.start - len(found))
            found += run.read_back
        return found

    @property
    def left(self) -> tuple[list[Frame], int]:
        """What the record of the pass that keeps it begins with: frames, and how many were read back."""
        if not self.runs or self.runs[0].frames.start:
            return [], 0
        run = self.runs[0]
        return list(run.earlier.known), len(run.read_back)

    def make_room(self, way: UnderWay) -> None:
        """Leave what is kept where the pass that goes on with it expects it, and nothing in its way."""
        cut_off = [run.earlier for run in self.runs if run.earlier.path in (way.part, way.earlier)]
        for earlier in cut_off:
            earlier.make_room(way)
        if not cut_off:
            remove(way.part)


def _in_turn(earlier: Iterable[Earlier]) -> Iterator[Run]:
    """Yield runs that do not overlap: of what begins with the same frame the longest, the rest cut."""
    stop = 0
    for one in sorted(earlier, key=lambda one: (one.first, -len(one.known))):
        frames = range(max(stop, one.first), one.first + len(one.known))
        if frames:
            yield Run(one, frames)
            stop = frames.stop


def left_ready(way: UnderWay, made_of: MadeOf, container: str) -> Ready:
    """Return what passes that are made of the same have left.

    Raises BadInput where what is left is not known to be of this pass, with what differs.
    """
    return Ready([*_cut_off(way, made_of, container), *_segments(way, made_of)])


def segment_name(frames: range, mark: str, suffix: str) -> str:
    """Return the name of a movie of the frames `frames` of a master; `mark` is its own."""
    return f"{frames.start}-{frames.stop}.{mark}{suffix}"


def _cut_off(way: UnderWay, made_of: MadeOf, container: str) -> Iterator[Earlier]:
    """Yield what is left under working names: both are there where a pass that went on was cut off too."""
    for path in (path for path in way.left if path != way.segments):
        if (said := read_record(way.record)) is None:
            raise BadInput(
                f"{path} lies there {_lacking(way.record)}; start anew with --discard, or choose another "
                "name."
            )
        _refuse_others(path, made_of, said)
        if path.is_dir():
            yield EarlierStills(path, said, way.master.name, container)
        else:
            yield EarlierMovie(path, said)


def _segments(way: UnderWay, made_of: MadeOf) -> Iterator[Earlier]:
    """Yield what was made apart, whole or not; what has no record is of no use."""
    for record in sorted(way.segments.glob("*.part.pass")):
        segment = UnderWay(record.with_name(record.name.removesuffix(".part.pass")))
        said, named = read_record(record), _NAME.match(record.name)
        if said is None or named is None:
            continue
        _refuse_others(way.segments, made_of, said)
        first, stop = map(int, named.groups())
        if segment.master.exists() and len(said.frames) == stop - first:
            yield EarlierMovie(segment.master, said, first, is_whole=True)
        elif segment.part.exists():
            yield EarlierMovie(segment.part, said, first)


def _refuse_others(path: Path, made_of: MadeOf, said: Left) -> None:
    if others := differences(made_of, said.made_of):
        raise BadInput(
            f"{path} was left by a pass that differs in {', '.join(others)}; put that back to resume "
            "it, start anew with --discard, or choose another name."
        )


def _lacking(record: Path) -> str:
    if record.exists():
        return f"with a record {record.name} that this version cannot read, as another version may leave it"
    return f"without its record {record.name}, so that nobody can tell what is in it"
