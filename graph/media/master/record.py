"""The record of a master: what each of its frames is and what it was made of, beside it while it lives.

With it a master can be proved without the reel, and without us: the checksums are those of ffmpeg's framemd5
and of sha256sum.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Annotated, Final, Literal

import msgspec
from msgspec import Meta

from lamphouse.graph.files.json_document import pieces_of_document, read_document
from lamphouse.graph.files.record import Record, gather, spread
from lamphouse.graph.files.whole_file import whole_file
from lamphouse.graph.media.master.under_way import UnderWay
from lamphouse.graph.reel.limits import Count, Length, SoundRate
from lamphouse.graph.reel.records import Delivery, Reel
from lamphouse.graph.reel.span import Span
from lamphouse.graph.reel.store import reel_of
from lamphouse.nodes.errors import BadInput, clause
from lamphouse.nodes.regular_file import MIB, read_regular

LABEL: Final = "master/1"
COMING: Final = "record.json"  # in the folder of an insert, once it is to take its place
LARGEST: Final = 1024 * MIB  # a day of film takes a third of it
MOST: Final = 40_000_000  # values; a day of film has a third of them

Md5 = Annotated[str, Meta(pattern="^[0-9a-f]{32}$")]
Sha256 = Annotated[str, Meta(pattern="^[0-9a-f]{64}$")]

EventKind = Literal["creation", "fixity check", "modification", "information package creation"]

_LABELS: Final = re.compile(r"master/[1-9][0-9]{0,5}")


class Made(Record, frozen=True, kw_only=True):
    """When something was made, by whom, with which versions."""

    when: str  # ISO 8601, universal time
    who: str  # user and machine
    versions: dict[str, str] = {}


class Event(Record, frozen=True, kw_only=True):
    """Something that happened to a master, as PREMIS has it: when, by whom, with what, and what came of it.

    `kind` is a term of the Library of Congress' vocabulary of preservation event types,
    id.loc.gov/vocabulary/preservation/eventType.
    """

    kind: EventKind
    made: Made
    detail: str = ""
    outcome: str = ""


class Insert(Record, frozen=True, kw_only=True):
    """Frames of the master, half-open, that were made anew in the finished master, and why."""

    first: Count
    stop: Length
    why: str
    made: Made


class Checked(Record, frozen=True, kw_only=True):
    """One thing that a check found: see `graph/check/findings.py`."""

    kind: str
    sentence: str
    weight: str = "fault"
    rule: str = ""
    source: str = ""
    frame: Count | None = None
    stop: int | None = None
    worst: int | None = None
    timecode: str = ""
    feet: str = ""
    cue: str = ""


class Checks(Record, frozen=True, kw_only=True):
    """What a check beside the pass found, the first of it, and how much more; `said` is what was good.

    `only` are the parts that it did, where these are not all, and `settings` those that are not the usual, as
    `levels.area=0.5`.
    """

    made: Made
    only: tuple[str, ...] = ()
    settings: tuple[str, ...] = ()
    said: tuple[str, ...] = ()
    found: tuple[Checked, ...] = ()
    more: Count = 0


class SoundSums(Record, frozen=True, kw_only=True):
    """Lossless sound: its samples, and the MD5 of each second of them, the last of which may be short."""

    rate: SoundRate
    samples: int
    seconds: tuple[Md5, ...]


class MasterRecord(Record, frozen=True, kw_only=True):
    """What a finished master is.

    `first` and `stop` are the frames of the scan that it shows, half-open. `pictures` has the checksum of
    every frame as it decodes, and `grades` that of the maths it was corrected by, empty for bars and black.
    `distances` say how far a lossy coding is off, frame by frame, and `cuts` how many of its pixels were cut
    at the lower and the upper end, empty where none was. `facts` are what the file states of itself,
    `files` the SHA-256 of each of its files, `made_of` a digest of each thing that decides its frames.
    `read_back` is what was found when it was decoded again, and empty where nobody did. `events` are in their
    order; records of before they were kept have none. `checks` are those of these very frames.
    """

    record: str = LABEL
    made: Made
    reel_file: str  # from the folder of the master
    reel: Reel
    delivery: Delivery
    first: Count
    stop: Length
    without: tuple[str, ...] = ()
    made_of: dict[str, str] = {}
    facts: dict[str, str] = {}
    files: dict[str, Sha256] = {}
    read_back: str = ""
    notes: tuple[str, ...] = ()
    inserts: tuple[Insert, ...] = ()
    events: tuple[Event, ...] = ()
    checks: Checks | None = None
    sound: SoundSums | None = None
    distances: tuple[float, ...] = ()
    cuts: tuple[tuple[Count, Count], ...] = ()
    grades: tuple[str, ...] = ()
    pictures: tuple[Md5, ...] = ()

    @property
    def span(self) -> Span:
        """Which of its frames shows which of the reel."""
        return Span(self.reel, self.delivery, self.first, self.stop)


def record_path(master: Path) -> Path:
    """Return where the record of `master` lies."""
    return master.with_name(master.name + ".record.json")


def master_of(path: Path) -> Path:
    """Return the master that a file is, or is a still of."""
    is_still = not record_path(path).exists() and record_path(path.parent).exists()
    return path.parent if is_still else path


def save_record(master: Path, record: MasterRecord) -> None:
    """Write the record of `master`; one that is there already stays beside it as the version before.

    Raises BadInput where it cannot be written.
    """
    path = record_path(master)
    _write(path, record, previous=Path(f"{path}.previous"))


def save_checks(master: Path, checks: Checks) -> None:
    """Keep what a check has found in the record of `master`. Raises BadInput where it cannot be written."""
    _write(record_path(master), msgspec.structs.replace(load_record(master), checks=checks))


def _write(path: Path, record: MasterRecord, previous: Path | None = None) -> None:
    with whole_file(path, previous=previous) as file:
        file.writelines(pieces_of_document(spread(record), "The record"))


def load_record(master: Path) -> MasterRecord:
    """Return the record of `master`. Raises BadInput where there is none, it is none, or another is due."""
    path = record_path(master)
    if (UnderWay(master).insert / COMING).exists():
        raise BadInput(
            f"An insert into {master} was cut off while it took its place; give any `lamphouse insert` into "
            "it, which first ends that one."
        )
    if not path.exists():
        raise BadInput(
            f"{master} has no record {path.name} beside it, so nobody can tell what it is meant to hold; "
            "bring it back, or transfer again."
        )
    return load_record_file(path)


def load_record_file(path: Path) -> MasterRecord:
    """Return the record in the file `path`. Raises BadInput where it is none."""
    try:
        data = read_regular(path, LARGEST)
    except OSError as error:
        raise BadInput(f"{path} cannot be read ({error.strerror}); see to the file.") from error
    return decode_record(data, str(path))


def decode_record(data: bytes, where: str) -> MasterRecord:
    """Return the record in `data`. `where` names its source in the BadInput that anything wrong raises."""
    document = read_document(data, where, "a record", MOST)
    label = document.get("record") if isinstance(document, dict) else None
    if not isinstance(document, dict) or not isinstance(label, str) or not _LABELS.fullmatch(label):
        raise BadInput(f'{where} is not the record of a master, for it lacks the label "record": "{LABEL}".')
    if label != LABEL:
        raise BadInput(
            f"{where}: {label} is not known here, only {LABEL}; a later version wrote it: use that one."
        )
    try:
        reel = reel_of(document.get("reel"), "its reel")
        return gather({**document, "reel": spread(reel)}, MasterRecord)
    except BadInput as error:
        raise BadInput(f"{where}: {clause(error)}.") from error
