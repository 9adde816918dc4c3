"""The report of a finished master: every shot before and after, and what is known of it, on one page."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any, Final

from lamphouse.graph.check.joins import shown_frames, write_joins
from lamphouse.graph.cues.words import beginning_text, settings_text
from lamphouse.graph.edits.marks import WORDS
from lamphouse.graph.files.whole_file import whole_file
from lamphouse.graph.grade.grade import show, show_as_scanned
from lamphouse.graph.media.master.colour import colour_of_pass
from lamphouse.graph.media.master.delivery import asked_of
from lamphouse.graph.media.master.record import MasterRecord
from lamphouse.graph.media.master.still import write_still
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.graph.media.scan.scan import Scan
from lamphouse.graph.media.sound.facts import sound_notes
from lamphouse.graph.progress import Step
from lamphouse.graph.reel.counters import counter
from lamphouse.graph.reel.records import Reel
from lamphouse.graph.reel.span import Span
from lamphouse.graph.reel.store import media_path
from lamphouse.graph.reel_files.named import refuse_over
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput, clause
from lamphouse.nodes.one_line import one_line

PAGE: Final = "index.html"


@dataclass(frozen=True, slots=True)
class _Held:
    """A cue as far as it holds within a master: frames [first, stop) of the reel."""

    index: int
    first: int
    stop: int

    @property
    def shown(self) -> int:
        """The frame that stands for it."""
        return (self.first + self.stop) // 2

    @property
    def stills(self) -> tuple[str, str]:
        """The names of its pictures: as scanned, and in the master."""
        return f"{self.index:03}-before.jpg", f"{self.index:03}-after.jpg"


def write_report(
    folder: Path,
    master: Path,
    record: MasterRecord,
    reel_file: Path | None = None,
    step: Step | None = None,
) -> Path:
    """Write the page of `master` and its pictures into `folder` and return the page.

    The scan is found by the record, or from `reel_file`; where it is gone the page says so and shows the
    master alone. `step` is told how many shots are shown. Raises BadInput where the master cannot be read or
    the page cannot be written.
    """
    from jinja2 import Environment

    span, opened = record.span, reel_of_record(master, record, reel_file)
    held = list(_held(record.reel, record.first, record.stop))
    _refuse(folder, master, opened, record, held)
    folder.mkdir(exist_ok=True)
    with ExitStack() as stack:
        pictures = stack.enter_context(open_scan(master))
        scan, notes = _scan_of(opened)
        if scan is not None:
            stack.enter_context(scan)
        shots = []
        for n, shot in enumerate(held):
            if step is not None:
                step(n, len(held))
            shots.append(_shot(folder, span, pictures, scan, shot))
    source = (files("lamphouse.graph.handover") / "report.html").read_text(encoding="utf-8")
    text = (
        Environment(autoescape=True, finalize=_shown)
        .from_string(source)
        .render(
            reel=opened.file.stem,
            master=master.name,
            record=record,
            asked=asked_of(record.delivery),
            length=_length(span),
            notes=list(dict.fromkeys((*notes, *record.notes))),
            flaws=flaws(record.reel),
            inserts=_inserts(folder, master, record),
            shots=shots,
        )
    )
    with whole_file(folder / PAGE) as file:
        file.write(text.encode("utf-8"))
    return folder / PAGE


def reel_of_record(master: Path, record: MasterRecord, reel_file: Path | None) -> OpenedReel:
    """Return the reel as the record has it, from its own place or from that of `reel_file`."""
    return OpenedReel(reel_file or media_path(master, record.reel_file), record.reel, Catalogue())


def _refuse(folder: Path, master: Path, opened: OpenedReel, record: MasterRecord, held: list[_Held]) -> None:
    if folder.resolve() == master.resolve():
        raise BadInput(f"{folder} is the master; give another folder for its report.")
    names = [PAGE, *(name for shot in held for name in shot.stills)]
    refuse_over(opened, *(folder / name for name in names))


def _scan_of(opened: OpenedReel) -> tuple[Scan | None, tuple[str, ...]]:
    """Return the scan, if it is there, and what is to be known of it and of the sound."""
    try:
        scan = opened.open_scan()
    except BadInput as error:
        return None, (f"The pictures are the master's alone, without the scan: {clause(error)}.",)
    return scan, (*scan.notes, *_of_sound(opened))


def _of_sound(opened: OpenedReel) -> tuple[str, ...]:
    if (path := opened.sound_path) is None:
        return ()
    try:
        return sound_notes(path, opened.reel)
    except BadInput as error:  # a report of pictures is worth having
        return (str(error),)


def _shown(value: object) -> object:
    """Return a name as the page shows it, which does nothing to the page."""
    return one_line(value) if isinstance(value, str) else value


def _length(span: Span) -> str:
    length = f"{span.frames} frames, {span.timecode(0)} to {span.timecode(span.frames - 1)}"
    return f"{length}. {span.speed}" if span.speed else length


def flaws(reel: Reel) -> list[dict[str, Any]]:
    """Return what the client should know of: soft shots, and what is still to be looked at again."""
    counters = counter(reel)
    return [
        {
            "what": WORDS[mark.kind],
            "name": mark.name,
            "note": mark.note,
            "place": counters.readings(mark.frame),
            "frames": mark.frames,
        }
        for mark in reel.marks
        if mark.kind != "place"
    ]


def _held(reel: Reel, first: int, stop: int) -> Iterator[_Held]:
    ends = [*(cue.frame for cue in reel.cues[1:]), stop]
    for index, (cue, end) in enumerate(zip(reel.cues, ends, strict=True)):
        start, until = max(cue.frame, first), min(end, stop)
        if start < until:
            yield _Held(index, start, until)


def _shot(folder: Path, span: Span, pictures: Scan, scan: Scan | None, held: _Held) -> dict[str, Any]:
    cue = span.reel.cues[held.index]
    before, after = held.stills
    if scan is not None:
        write_still(folder / before, show_as_scanned(span.reel, scan.read(held.shown)))
    found = pictures.read_coded(span.number(held.shown))
    write_still(folder / after, show(found, colour_of_pass(span.delivery, span.reel.scan)))
    return {
        "name": cue.name or f"cue {held.index + 1}",
        "place": counter(span.reel).readings(held.first),
        "begins": beginning_text(cue),
        "settings": settings_text(cue),
        "shown": held.shown,
        "number": span.number(held.shown),
        "before": before if scan is not None else "",
        "after": after,
    }


def _inserts(folder: Path, master: Path, record: MasterRecord) -> list[dict[str, Any]]:
    span = record.span
    return [
        {
            "words": f"{span.words(found.insert.first)} to f{span.words(found.insert.stop - 1)[1:]}",
            "insert": found.insert,
            "joins": [(span.words(join.frame), join) for join in found.joins],
            "pictures": [
                (what, frame, found.pictures[what])
                for what, frame in shown_frames(found.insert, span.frames).items()
            ],
        }
        for found in write_joins(folder, master, record)
    ]
