"""The report of one master, written: gathered from its record, its pictures and what was found of it."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any, Final

from lamphouse.graph.check.findings import Findings
from lamphouse.graph.check.joins import JoinedInsert, joined_inserts, shown_frames
from lamphouse.graph.edits.marks import WORDS as MARK_WORDS
from lamphouse.graph.handover.report import plots
from lamphouse.graph.handover.report.eyes import WORDS, Eye, eyes_of, words_of
from lamphouse.graph.handover.report.facts import length_words, master_facts, reel_facts
from lamphouse.graph.handover.report.pages import PAGE, write_page
from lamphouse.graph.handover.report.shots import Shot, shots
from lamphouse.graph.handover.report.small_pictures import Picture, held
from lamphouse.graph.handover.report.sources import Sources
from lamphouse.graph.handover.report.strip import strip_of
from lamphouse.graph.media.master.record import MasterRecord
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.graph.progress import Step
from lamphouse.graph.reel.counters import counter
from lamphouse.graph.reel.span import Span
from lamphouse.graph.reel.store import media_path
from lamphouse.graph.reel_files.named import refuse_over
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput, clause

TEMPLATE: Final = "report.html"
INSERT_ROOM: Final = 400_000  # bytes that the pictures of all joins have together
EYE_ROOM: Final = 12_000  # bytes of a picture of what needs eyes
MOST_PICTURES: Final = 40  # of those
MOST_DIGESTS: Final = 8  # of the files of a master: stills have thousands


@dataclass(frozen=True, slots=True)
class Report:
    """A page that was written, and what of its master needs eyes."""

    page: Path
    reel: str
    length: str
    seconds: float
    made: str
    verdict: str
    eyes: tuple[Eye, ...]


def write_report(
    folder: Path,
    master: Path,
    record: MasterRecord,
    reel_file: Path | None = None,
    step: Step | None = None,
    *,
    found: Findings | None = None,
) -> Path:
    """Write the page of `master` into `folder` and return it: one file, with its pictures in it.

    The scan is found by the record, or from `reel_file`; where it is gone the page says so and shows the
    master alone. `step` is told how many shots are shown; `found` is what a check found of the master.
    Raises BadInput where the master cannot be read or the page cannot be written.
    """
    return reported(folder, master, record, reel_file, step, found=found).page


def reported(
    folder: Path,
    master: Path,
    record: MasterRecord,
    reel_file: Path | None = None,
    step: Step | None = None,
    *,
    found: Findings | None = None,
) -> Report:
    """Write the page as `write_report` does, and return what a collection says of it."""
    opened, span = reel_of_record(master, record, reel_file), record.span
    if folder.resolve() == master.resolve():
        raise BadInput(f"{folder} is the master; give another folder for its report.")
    refuse_over(opened, folder / PAGE)
    eyes = eyes_of(record, found)
    with open_scan(master, any_order=True) as pictures, Sources(opened, span, pictures) as sources:
        shown = list(shots(sources, span, step))
        page = write_page(
            folder,
            TEMPLATE,
            "compare.js",
            title=f"{opened.file.stem}: report",
            reel=opened.file.stem,
            master=master.name,
            record=record,
            about=record.reel.about,
            facts=master_facts(record),
            reel_facts=reel_facts(opened),
            strip=strip_of(sources, span),
            shots=shown,
            graticule=plots.GRATICULE,
            targets=plots.targets(),
            skin=plots.skin(),
            marks=list(_marks(record)),
            inserts=_inserts(sources, record),
            found=found,
            eyes=list(_shown_eyes(sources, span, eyes, shown)),
            eyes_words=words_of(eyes),
            notes=list(dict.fromkeys(sources.notes)),
            digests=list(islice(record.files.items(), MOST_DIGESTS)),
        )
    verdict = record.read_back or "It was not read back when it was made."
    return Report(
        page=page,
        reel=opened.file.stem,
        length=length_words(span),
        seconds=round(float(span.frames / span.rate), 3),
        made=record.made.when,
        verdict=verdict,
        eyes=tuple(eyes),
    )


def reel_of_record(master: Path, record: MasterRecord, reel_file: Path | None) -> OpenedReel:
    """Return the reel as the record has it, from its own place or from that of `reel_file`."""
    return OpenedReel(reel_file or media_path(master, record.reel_file), record.reel, Catalogue())


def _shown_eyes(
    sources: Sources, span: Span, eyes: Sequence[Eye], shown: Sequence[Shot]
) -> Iterator[tuple[Eye, str, Shot | None, str]]:
    """Yield what needs eyes with its weight in words, the shot in which it lies, and a picture of it."""
    starts = [shot.place.frame for shot in shown]
    for count, eye in enumerate(eyes):
        frame = None if eye.number is None else span.frame(eye.number)
        shot = None if frame is None or not shown else shown[max(bisect_right(starts, frame) - 1, 0)]
        yield eye, WORDS[eye.weight], shot, _picture(sources, eye) if count < MOST_PICTURES else ""


def _picture(sources: Sources, eye: Eye) -> str:
    """Return the address of a picture of what needs eyes, at rest; nothing where there is none."""
    if eye.number is None:
        return ""
    try:
        return held(sources.smaller(sources.after(eye.number)), EYE_ROOM).address
    except BadInput:
        return ""


def _marks(record: MasterRecord) -> Iterable[dict[str, Any]]:
    counters = counter(record.reel)
    for mark in record.reel.marks:
        place = counters.readings(mark.frame)
        yield {"what": MARK_WORDS[mark.kind], "mark": mark, "place": place}


def _inserts(sources: Sources, record: MasterRecord) -> list[dict[str, Any]]:
    """Return what the page says of inserts, with their joins where the master can be read there."""
    span, most = record.span, INSERT_ROOM // (4 * max(len(record.inserts), 1))

    def keep(_: str, picture: Picture) -> str:
        return held(sources.smaller(picture), most).address

    try:
        joined = list(joined_inserts(sources.master, record, keep))
    except BadInput as error:  # frames that cannot be read are no reason to have no page
        sources.notes = (*sources.notes, f"The joins of inserts cannot be shown: {clause(error)}.")
        joined = [JoinedInsert(insert, (), {}) for insert in record.inserts]
    return [
        {
            "words": f"{span.words(one.insert.first)} to f{span.words(one.insert.stop - 1)[1:]}",
            "insert": one.insert,
            "joins": [(span.words(join.frame), join) for join in one.joins],
            "pictures": [
                (what, frame, one.pictures[what])
                for what, frame in shown_frames(one.insert, span.frames).items()
                if what in one.pictures
            ],
        }
        for one in joined
    ]
