"""The joins of inserts: how large the step is there, beside those of the frames around, and pictures."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.grade.grade import show
from lamphouse.graph.media.master.colour import colour_of_pass
from lamphouse.graph.media.master.record import Insert, MasterRecord
from lamphouse.graph.media.master.still import write_still
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.graph.media.scan.scan import Scan
from lamphouse.graph.reel.span import Span
from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.colour_encoding import ColourEncoding
from lamphouse.nodes.lab import lab_of_video

AREAS: Final = 8  # across and down: their means leave out grain, and most of what moves


@dataclass(frozen=True, slots=True)
class Join:
    """A place where frames made at different times meet: `frame` is the first after it.

    `step` is the CIEDE2000 from the frame before it, `before` and `after` are the steps beside that; None
    where there is no such frame.
    """

    frame: int
    step: float
    before: float | None
    after: float | None

    def sentence(self, span: Span) -> str:
        """Return what it is, in words."""
        beside = " and ".join(f"{step:.2f}" for step in (self.before, self.after) if step is not None)
        off = f"is {self.step:.2f} CIEDE2000 off the frame before it"
        return f"{span.words(self.frame)} {off}; the steps beside that are {beside}."


@dataclass(frozen=True, slots=True)
class JoinedInsert:
    """An insert, its joins, and its pictures by what they show: before, first, last, after."""

    insert: Insert
    joins: tuple[Join, ...]
    pictures: dict[str, str]


def shown_frames(insert: Insert, frames: int) -> dict[str, int]:
    """Return the frames on both sides of both joins of an insert, as far as a master of `frames` has them."""
    places = {
        "before": insert.first - 1,
        "first": insert.first,
        "last": insert.stop - 1,
        "after": insert.stop,
    }
    return {what: frame for what, frame in places.items() if 0 <= frame < frames}


Keep = Callable[[str, NDArray[np.float32]], str]


def write_joins(folder: Path, master: Path, record: MasterRecord) -> list[JoinedInsert]:
    """Write pictures of the joins of every insert of `record` into `folder`, and return what they show.

    Raises BadInput where the master cannot be read or a picture cannot be written.
    """
    if not record.inserts:
        return []
    folder.mkdir(exist_ok=True)

    def keep(name: str, picture: NDArray[np.float32]) -> str:
        write_still(folder / f"{name}.jpg", picture)
        return f"{name}.jpg"

    with open_scan(master) as scan:
        return list(joined_inserts(scan, record, keep))


def joined_inserts(scan: Scan, record: MasterRecord, keep: Keep) -> Iterator[JoinedInsert]:
    """Yield every insert of `record` with its joins, measured on the master, opened as `scan`.

    `keep` takes a name and a picture (3, h, w) of video signal and returns what stands for it in `pictures`.
    Raises BadInput where the master cannot be read.
    """
    pictures = _Shown(scan, colour_of_pass(record.delivery, record.reel.scan))
    for insert in record.inserts:
        yield _joined(pictures, insert, keep)


@dataclass(frozen=True, slots=True)
class _Shown:
    """The pictures of a master, whose codes mean `colour`, as video signal."""

    master: Scan
    colour: ColourEncoding

    @property
    def frames(self) -> int:
        return self.master.frames

    def read(self, frame: int) -> NDArray[np.float32]:
        return show(self.master.read_coded(frame), self.colour)


def _joined(pictures: _Shown, insert: Insert, keep: Keep) -> JoinedInsert:
    shown = {
        what: keep(f"insert-{insert.first:06}-{insert.stop:06}-{what}", pictures.read(frame))
        for what, frame in shown_frames(insert, pictures.frames).items()
    }
    places = [place for place in (insert.first, insert.stop) if 0 < place < pictures.frames]
    return JoinedInsert(insert, tuple(_join_at(pictures, place) for place in places), shown)


def _join_at(pictures: _Shown, frame: int) -> Join:
    """Measure the join before `frame`."""
    steps = [_step(pictures, place) for place in (frame, frame - 1, frame + 1)]
    assert steps[0] is not None
    return Join(frame, *steps)  # type: ignore[arg-type]


def _step(pictures: _Shown, frame: int) -> float | None:
    if not 0 < frame < pictures.frames:
        return None
    return step_between(pictures.read(frame - 1), pictures.read(frame))


def step_between(one: NDArray[np.float32], other: NDArray[np.float32]) -> float:
    """Return the mean CIEDE2000 between the areas of two pictures (3, h, w) of video signal.

    Source: Sharma, Wu and Dalal (2005), in colour-science.
    """
    found = colour_science().delta_E(_areas(one), _areas(other), method="CIE 2000")
    return float(np.mean(found))


def _areas(picture: NDArray[np.float32]) -> NDArray[np.float64]:
    """Return the CIELAB of the mean signal of each area, (n, 3)."""
    _, height, width = picture.shape
    rows, columns = (np.arange(min(AREAS, size)) * size // min(AREAS, size) for size in (height, width))
    sums = np.add.reduceat(np.add.reduceat(picture.astype(np.float64), rows, 1), columns, 2)
    counts = np.outer(np.diff(rows, append=height), np.diff(columns, append=width))
    return np.asarray(lab_of_video((sums / counts).reshape(3, -1).T))
