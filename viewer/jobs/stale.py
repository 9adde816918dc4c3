"""What of a master is older than the grade, and how new frames would join the others that stay."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.check.joins import shown_frames, step_between
from lamphouse.graph.grade.grade import Shown
from lamphouse.graph.media.master.colour import colour_of_pass
from lamphouse.graph.media.master.record import Insert, MasterRecord, load_record
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.graph.reel.span import Span
from lamphouse.graph.reel.store import media_path
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.transfer.delivered import delivered
from lamphouse.graph.transfer.record import made_now
from lamphouse.graph.transfer.wanted import cue_names, stale_ranges
from lamphouse.nodes.errors import BadInput

ENDING: Final = ".record.json"
LOOKED_AT: Final = 4  # of the newest records beside a reel
LARGEST: Final = 64 << 20  # bytes of a record that is read unasked
WIDEST: Final = 480  # pixels of a picture of a join

Picture = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class Stale:
    """Which frames of a master are older than the grade: its own `numbers`, and `frames` of the reel.

    `reason` says why that is not known; without a `master` there is none.
    """

    master: Path | None = None
    record: MasterRecord | None = None
    numbers: tuple[range, ...] = ()
    frames: tuple[range, ...] = ()
    sentence: str = ""
    reason: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Joins:
    """The joins of frames to be made anew: pictures by what they show, as the master is and as it would be.

    `steps` are the CIEDE2000 at the first and the last join, as it is and as it would be; None at an end.
    """

    numbers: range
    now: dict[str, Picture]
    new: dict[str, Picture]
    steps: tuple[tuple[float | None, float | None], ...] = ()
    reason: str = ""


def last_master(reel_file: Path) -> Path | None:
    """Return the newest master beside a reel whose record says that it is of this reel."""
    records = sorted(reel_file.parent.glob(f"*{ENDING}"), key=lambda path: -path.stat().st_mtime_ns)
    for path in records[:LOOKED_AT]:
        master = path.with_name(path.name.removesuffix(ENDING))
        if not master.exists() or path.stat().st_size > LARGEST:
            continue
        try:
            found = load_record(master)
        except BadInput:
            continue
        if media_path(master, found.reel_file).resolve() == reel_file.resolve():
            return master
    return None


def stale_of(opened: OpenedReel, master: Path | None, known: MasterRecord | None = None) -> Stale:
    """Return what of `master` is stale, or of the last one beside the reel."""
    master = master or last_master(opened.file)
    if master is None:
        return Stale()
    record = known
    try:
        record = record or load_record(master)
        numbers = stale_ranges(record, opened)
        span = Span(opened.reel, record.delivery, record.first, record.stop)
    except BadInput as error:
        return Stale(master, record, reason=str(error))
    frames = tuple(range(span.shown(run[0])[0], span.shown(run[-1])[-1] + 1) for run in numbers)
    return Stale(master, record, tuple(numbers), frames, _words(span, numbers))


def _words(span: Span, numbers: list[range]) -> str:
    if not numbers:
        return "The master is what the grade makes now."
    shots = len({name for run in numbers for name in cue_names(span, run)})
    count = sum(map(len, numbers))
    return (
        f"{shots} shot{'s' * (shots > 1)}, {count} frame{'s' * (count > 1)} "
        f"{'are' if count > 1 else 'is'} older than the grade."
    )


def joins_of(opened: OpenedReel, master: Path, record: MasterRecord, numbers: range) -> Joins:
    """Return the joins of `numbers` of a master, with its own frames and with those that are made now."""
    try:
        with open_scan(master) as pictures, opened.open_scan() as scan:
            return _joins(opened, record, numbers, pictures, scan)
    except BadInput as error:
        return Joins(numbers, {}, {}, reason=str(error))


def _joins(opened: OpenedReel, record: MasterRecord, numbers: range, pictures: Any, scan: Any) -> Joins:
    span = Span(opened.reel, record.delivery, record.first, record.stop)
    shown = Shown(colour_of_pass(record.delivery, opened.reel.scan))
    places = shown_frames(
        Insert(first=numbers.start, stop=numbers.stop, why="", made=made_now()), span.frames
    )
    now = {what: shown.of(pictures.read_coded(number)) for what, number in places.items()}
    new = dict(now)
    for what in ("first", "last"):
        frame = span.frame(places[what])
        if frame is not None:
            new[what] = shown.of(delivered(opened, record.delivery, scan, frame))
    shown.close()
    steps = tuple(
        tuple(_step(rows, one, other) for rows in (now, new))
        for one, other in (("before", "first"), ("last", "after"))
    )
    return Joins(numbers, _smaller(now), _smaller(new), steps)  # type: ignore[arg-type]  # pairs of pairs


def _step(rows: dict[str, Picture], one: str, other: str) -> float | None:
    return step_between(rows[one], rows[other]) if one in rows and other in rows else None


def _smaller(rows: dict[str, Picture]) -> dict[str, Picture]:
    found = {}
    for what, picture in rows.items():
        step = -(-picture.shape[2] // WIDEST)
        found[what] = np.ascontiguousarray(picture[:, ::step, ::step])
    return found
