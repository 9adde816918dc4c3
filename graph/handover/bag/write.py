"""A finished master handed over with all that belongs to it, as a bag that is whole or not there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

import msgspec

from lamphouse.graph.check.hearing.hearing import hearing
from lamphouse.graph.check.settings import settings_of
from lamphouse.graph.check.subject import planned
from lamphouse.graph.check.verify import check_files
from lamphouse.graph.files.json_document import write_document
from lamphouse.graph.files.plain_name import plain_name
from lamphouse.graph.files.record import spread
from lamphouse.graph.files.whole_file import second_name, whole_file
from lamphouse.graph.files.whole_folder import whole_folder
from lamphouse.graph.handover.bag import cues
from lamphouse.graph.handover.bag.bagging import make_bag, refuse_names
from lamphouse.graph.handover.bag.dublin_core import bag_info, title_of, write_dublin_core
from lamphouse.graph.handover.bag.framemd5 import write_framemd5
from lamphouse.graph.handover.bag.lists import carried_shots, write_cdls, write_lists
from lamphouse.graph.handover.bag.readme import README, payload, readme
from lamphouse.graph.handover.report import write_report
from lamphouse.graph.media.master.events import of_bag, with_events
from lamphouse.graph.media.master.record import Event, MasterRecord, load_record, save_record
from lamphouse.graph.media.master.under_way import UnderWay
from lamphouse.graph.transfer.record import made_now
from lamphouse.graph.transfer.wanted import reel_fits
from lamphouse.nodes.errors import BadInput, CheckFailed, clause
from lamphouse.nodes.regular_file import read_regular

if TYPE_CHECKING:
    from lamphouse.graph.handover.lists.shots import Shot
    from lamphouse.graph.media.scan.scan import Scan
    from lamphouse.graph.progress import Step
    from lamphouse.graph.reel_files.opened import OpenedReel

SAMPLES: Final = "16 bits as they are, 24 at the top of 32"
LONGEST: Final = 100  # characters of a name that others gave


@dataclass(frozen=True, slots=True)
class Handed:
    """A bag that was written: how many files it holds, what no LUT carries by cue, what is to be known."""

    files: int
    not_carried: tuple[str, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Leaving:
    """What is handed over: `opened` is the reel as the master was made of it, `now` as it is."""

    opened: OpenedReel
    now: OpenedReel
    master: Path
    record: MasterRecord

    @property
    def name(self) -> str:
        """What the reel is called in the bag."""
        return _reel_name(self.now)

    @property
    def master_name(self) -> str:
        """What the master is called in the bag, with its ending."""
        ending = plain_name(self.master.suffix, "")
        stem = plain_name(self.master.stem, "master")[:LONGEST]
        return f"{stem}.{ending}" if ending and not self.master.is_dir() else stem


def write_bag(
    folder: Path, opened: OpenedReel, master: Path, step: Step, *, with_master: bool = False
) -> Handed:
    """Write the bag of `master`, made of the `opened` reel, as `folder`, which must not be there yet.

    `step` is told the frames whose cues are done. The hand-over is noted in the record of the master. Raises
    BadInput for a reel that is not the master's, and where it cannot be written, and CheckFailed for a master
    that is not, byte for byte, what its record says.
    """
    record = load_record(master)
    _refuse_other(opened, master, record)
    if with_master and master.is_dir():
        refuse_names(record.files)  # before all the work
    _prove(master, record)
    event = of_bag(made_now(), folder.name)
    reel = f"../reel/{_reel_name(opened)}.reel"
    record = with_events(msgspec.structs.replace(record, reel_file=reel), event)
    leaving = _Leaving(as_made(opened, record), opened, master, record)
    with whole_folder(folder) as working:
        handed = _fill(working, leaving, step, with_master)
        size = sum((working / name).stat().st_size for name in payload(working))
        info = bag_info(opened.reel.about, leaving.master_name, leaving.record, _bytes(size))
        entries = make_bag(working, info)
        if with_master:
            _check_copy(leaving, entries)
    return replace(handed, files=len(entries), notes=(*handed.notes, *_noted(master, event)))


def as_made(opened: OpenedReel, record: MasterRecord) -> OpenedReel:
    """Return the reel as the master of `record` was made of it, its media where the `opened` one has them."""
    now, made = opened.reel, record.reel
    scan = msgspec.structs.replace(made.scan, path=now.scan.path, fixity=now.scan.fixity)
    return opened.with_reel(msgspec.structs.replace(made, about=now.about, scan=scan, sound=now.sound))


def _reel_name(opened: OpenedReel) -> str:
    return plain_name(opened.file.stem, "reel")[:LONGEST]


def _refuse_other(opened: OpenedReel, master: Path, record: MasterRecord) -> None:
    if others := reel_fits(record, opened.reel):
        raise BadInput(
            f"{' and '.join(others)} of {opened.file.name} {'are' if len(others) > 1 else 'is'} not what "
            f"{master} was made with; give the reel of that master."
        )


def _prove(master: Path, record: MasterRecord) -> None:
    found = check_files(master, record)
    if found.count:
        raise CheckFailed(
            f"{master} is not what its record says ({clause(found.faults[0].sentence)}), so it is not handed "
            "over; run `lamphouse verify` on it."
        )


def _fill(folder: Path, leaving: _Leaving, step: Step, with_master: bool) -> Handed:
    """Write all but the bag's own files into `folder`."""
    for name in ("reel", "master", "cues", "metadata"):
        (folder / name).mkdir()
    opened, master, record = leaving.opened, leaving.master, leaving.record
    beside = folder / "master" / leaving.master_name
    notes = [*record.notes, *_of_changes(leaving)]
    with whole_file(folder / "reel" / f"{leaving.name}.reel") as file:
        file.write(read_regular(leaving.now.file))
    save_record(beside, record)
    write_framemd5(beside.with_name(f"{beside.name}.framemd5"), master, record)
    _write_sound(beside.with_name(f"{beside.name}.sound.json"), master, record)
    write_dublin_core(folder / "metadata" / "dublin-core.xml", opened.reel.about, leaving.master_name, record)
    step(0, record.stop - record.first)
    with ExitStack() as stack:
        scan = _scan_of(leaving.now, notes)
        if scan is not None:
            stack.enter_context(scan)
        shots = carried_shots(opened, record.span)
        handed = list(_cues(folder / "cues", leaving, shots, scan, step))
    write_lists(folder / "lists", leaving.name, record.span, shots)
    write_cdls(folder / "cues" / "all.ccc", leaving.name, record.span, shots)
    _write_json(folder / "cues" / "cues.json", cues.document(handed, opened))
    write_report(folder / "report", master, record, leaving.now.file)
    if with_master:
        put_master(master, beside)
    lines = list(cues.lines(handed))
    names, title = [README, *payload(folder)], title_of(opened.reel.about, record)
    page = readme(names, title, record, lines, notes, with_master=with_master)
    with whole_file(folder / README) as file:
        file.write(page.encode("utf-8", errors="replace"))
    return Handed(0, tuple(lines), tuple(notes))


def _cues(
    folder: Path, leaving: _Leaving, shots: Sequence[Shot], scan: Scan | None, step: Step
) -> Iterator[cues.HandedCue]:
    """Yield each cue that holds in the master, once its files are written."""
    record = leaving.record
    for shot in shots:
        if shot.cue is not None:
            yield cues.hand_over_cue(folder, leaving.opened, shot, scan)
        step(shot.source.stop - record.first, record.stop - record.first)


def _scan_of(opened: OpenedReel, notes: list[str]) -> Scan | None:
    """Return the scan, or None where it is gone, which `notes` then say."""
    try:
        return opened.open_scan(any_order=True)
    except BadInput as error:
        notes.append(
            f"There are no stills, and errors on the reel's own pictures are not known: {clause(error)}."
        )
        return None


def _of_changes(leaving: _Leaving) -> Iterator[str]:
    made, now = leaving.opened.reel, leaving.now.reel
    if any(getattr(made, name) != getattr(now, name) for name in ("chain", "cues", "tracks")):
        yield (
            f"{leaving.now.file.name} was changed since this master was made: LUTs, stills and the page are "
            "of the reel as it was then, which the record holds; the reel's file is as it is now."
        )


def _write_sound(path: Path, master: Path, record: MasterRecord) -> None:
    """Write what is known of the sound of a master, where it has any, and what is heard of it."""
    facts = {name: value for name, value in record.facts.items() if name.startswith("the sound")}
    if not facts and record.sound is None:
        return
    sums = {} if record.sound is None else spread(record.sound)
    if sums:
        sums["digest"] = f"MD5 of each second of interleaved samples, little-endian: {SAMPLES}."
    heard = hearing(planned(master, record.span, settings_of(()), record))
    _write_json(path, {**facts, **sums, "heard": heard.lines()})


def _write_json(path: Path, document: object) -> None:
    with whole_file(path) as file:
        file.write(write_document(document, path.name))


def put_master(master: Path, target: Path) -> None:
    """Give the files of the master second names in the bag, or copies where the disk has no such names."""
    if not master.is_dir():
        second_name(master.resolve(), target)  # of a link the file, which is to be in the bag
        return
    target.mkdir()
    for path in sorted(master.iterdir()):
        second_name(path.resolve(), target / path.name)


def _check_copy(leaving: _Leaving, entries: dict[str, dict[str, str]]) -> None:
    """Raise CheckFailed where the master in the bag is not, byte for byte, that of the record."""
    place = f"data/master/{leaving.master_name}"
    for name, digest in leaving.record.files.items():
        found = entries.get(f"{place}/{name}" if leaving.master.is_dir() else place, {})
        if found.get("sha256") != digest:
            raise CheckFailed(f"{name} changed while it was put into the bag; nothing is handed over.")


def _noted(master: Path, event: Event) -> Iterator[str]:
    """Put the hand-over into the record of the master; yield why not where that cannot be written."""
    try:
        with UnderWay(master).alone():
            save_record(master, with_events(load_record(master), event))
    except BadInput as error:
        yield f"The hand-over is not in the record of {master}: {clause(error)}."


def _bytes(size: int) -> str:
    """Return a size as a person reads it, as RFC 8493 has Bag-Size."""
    for unit, factor in (("TB", 10**12), ("GB", 10**9), ("MB", 10**6), ("kB", 10**3)):
        if size >= factor:
            return f"{size / factor:.1f} {unit}"
    return f"{size} B"
