"""Which frames of a finished master are to be made anew, and what a person calls them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby

from lamphouse.graph.edits.cues import find_cue, next_cue
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.master.colour import colour_of_pass
from lamphouse.graph.media.master.record import MasterRecord
from lamphouse.graph.reel.counters import counter
from lamphouse.graph.reel.records import Reel
from lamphouse.graph.reel.span import Span
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.one_line import one_line


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a person asks for, as it was typed: a cue, a stretch of the reel, or else all that is stale."""

    cue: str | None = None
    start: str | None = None
    stop: str | None = None

    @property
    def words(self) -> str:
        """Why these frames, for the record."""
        if self.cue is not None:
            return f"the cue {one_line(self.cue)} was asked for"
        if self.start is not None:
            return f"frames from {one_line(self.start)} to {one_line(self.stop or '')} were asked for"
        return "their settings, LUTs or plug-ins had changed"


def wanted_frames(wanted: Wanted, record: MasterRecord, span: Span, grade: Grade) -> list[range]:
    """Return the frames of the master that `wanted` means, in order and apart; `span` is of the reel now.

    A cue has the frames that are made of its settings: from where its own transition begins until the next
    cue is reached. Raises BadInput where that is nothing, or not in the master.
    """
    if wanted.cue is not None:
        return [_of_cue(wanted.cue, span)]
    if wanted.start is not None and wanted.stop is not None:
        return [_of_places(wanted.start, wanted.stop, span)]
    return list(runs(stale_frames(record, span, grade)))


def stale_frames(record: MasterRecord, span: Span, grade: Grade) -> Iterator[int]:
    """Yield each frame of the master that would be corrected by other maths now than it was."""
    colour, number, grades = colour_of_pass(record.delivery, span.reel.scan), 0, record.grades
    while number < len(grades):
        made_by, stop = grade.checksums(span.shown(number), colour), _steady_until(number, span, grade)
        alike = range(number, min(stop, len(grades)))
        yield from (frame for frame in alike if grades[frame] != made_by)
        number = stop


def _steady_until(number: int, span: Span, grade: Grade) -> int:
    """Return the first frame of the master after `number` that may be corrected by other maths."""
    shown = span.shown(number)
    if not shown:
        return span.film.start if number < span.film.start else span.frames
    other = grade.cues.steady_until(shown[0])
    stop = span.film.stop if other is None or other >= span.stop else span.number(other)
    return max(number + 1, stop)


def stale_ranges(record: MasterRecord, opened: OpenedReel) -> list[range]:
    """Return the frames of the master of `record` that the reel would make otherwise now, in order and apart.

    Raises BadInput where the chain cannot be made ready, or the reel is no longer the master's.
    """
    if others := reel_fits(record, opened.reel):
        are, which = "are" if len(others) > 1 else "is", " and ".join(others)
        raise BadInput(
            f"{which[0].upper()}{which[1:]} of {opened.file.name} {are} not what the master was made with; "
            "put that back, or transfer again."
        )
    span = Span(opened.reel, record.delivery, record.first, record.stop)
    with Grade(opened, threads=1) as grade:
        return list(runs(stale_frames(record, span, grade)))


def cue_names(span: Span, frames: range) -> tuple[str, ...]:
    """Return what the cues are called whose settings make `frames` of a master, in order."""
    reel = span.reel
    holding = (span.cue(number) for number in frames)
    found = dict.fromkeys(cue.frame for cue in holding if cue is not None)
    last = span.shown(frames[-1])[-1]
    after = next((cue for cue in reel.cues if cue.frame > last), None)
    if after is not None and after.begins == "transition" and last > after.frame - after.length:
        found[after.frame] = None
    names = {cue.frame: one_line(cue.name) or f"at frame {cue.frame}" for cue in reel.cues}
    return tuple(names[frame] for frame in found) or ("before the first cue",)


def _of_cue(name: str, span: Span) -> range:
    reel = span.reel
    cue = find_cue(reel, name)
    first = cue.frame - cue.length + 1 if cue.begins == "transition" else cue.frame
    after = next_cue(reel, cue.frame)
    stop = span.stop if after is None else min(after, span.stop)
    first = max(first, span.first)
    if first >= stop:
        raise BadInput(
            f"The cue {one_line(name)} has no frame in this master, which shows frames {span.first} to "
            f"{span.stop - 1} of the reel; give another."
        )
    return span.numbers(first, stop)


def _of_places(start: str, stop: str, span: Span) -> range:
    counters = counter(span.reel)
    first, last = counters.find(start), counters.find(stop, end=True)
    if first >= last:
        raise BadInput(f"Nothing lies between frame {first} and frame {last}; --to must come after --from.")
    if first < span.first or last > span.stop:
        raise BadInput(
            f"Frames {first} to {last - 1} are not all in this master, which shows frames {span.first} to "
            f"{span.stop - 1} of the reel; give places between these."
        )
    return span.numbers(first, last)


def runs(numbers: Iterable[int]) -> Iterator[range]:
    """Yield runs of consecutive numbers, half-open; they come in order."""
    for _, run in groupby(enumerate(numbers), lambda pair: pair[1] - pair[0]):
        found = [number for _, number in run]
        yield range(found[0], found[-1] + 1)


def reel_fits(record: MasterRecord, reel: Reel) -> list[str]:
    """Return what of `reel` is not as the master was made with, of all that must be."""
    old, now = _frame_of(record, record.reel), _frame_of(record, reel)
    return [name for name, value in old.items() if now[name] != value]


def _frame_of(record: MasterRecord, reel: Reel) -> dict[str, object]:
    scan, span = reel.scan, Span(reel, record.delivery, record.first, record.stop)
    return {
        "the rate": reel.rate,
        "the scan's length": scan.frames,
        "the scan's raster": (scan.width, scan.height),
        "the scan's pixel aspect": scan.pixel_aspect,
        "the scan's matrix": scan.matrix,
        "the scan's range": scan.range,
        "the timecode of its first frame": span.timecode(0),
        **(_footage_of(reel) if "footage" in record.delivery.burn_in else {}),
    }


def _footage_of(reel: Reel) -> dict[str, object]:
    """Return what decides the footage that is drawn into pictures."""
    return {"the gauge": reel.gauge, "the head mark": reel.head_mark}
