"""The files of a master, byte for byte, and what they state of themselves."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from pathlib import Path

import av

from lamphouse.graph.check.findings import Finding, Names
from lamphouse.graph.media.master.facts import facts_of
from lamphouse.graph.media.master.matroska_checksums import torn_parts
from lamphouse.graph.media.master.record import MasterRecord
from lamphouse.graph.media.master.stills_back import STILL
from lamphouse.graph.transfer.record import file_sums
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.one_line import one_line, sentence


def of_files(master: Path, record: MasterRecord, names: Names) -> Iterator[Finding]:
    """Yield the files whose SHA-256 is not that of the record, that are gone, or are there besides."""
    if not record.files:
        return
    alone = next(iter(record.files)) if not master.is_dir() else master.name  # whatever it is called by now
    found = file_sums(master, alone)
    for name in {**record.files, **found}:
        if found.get(name) != record.files.get(name):
            yield _of_file(name, found, record.files, names)


def _of_file(name: str, found: Mapping[str, str], meant: Mapping[str, str], names: Names) -> Finding:
    number = STILL.fullmatch(name)
    place = names.place(int(number[1]), int(number[1]) + 1) if number and name in meant else {}
    if name not in found:
        kind, what = "file missing", "is missing"
    elif name not in meant:
        kind, what = "file extra", "is not in the record"
    else:
        kind, what = "file differs", "is not, byte for byte, the file of the record (SHA-256)"
    return Finding(kind, sentence(f"{name} {what}."), **place)


def of_container(master: Path, record: MasterRecord, names: Names) -> Iterator[Finding]:
    """Yield the parts of a Matroska file that disagree with the checksums that it carries."""
    if record.delivery.container != "matroska" or not master.is_file():
        return
    rate = record.span.rate
    for what, milliseconds in torn_parts(master):
        if milliseconds is None:
            yield Finding("container", f"The container's checksum does not agree with {what}.")
        else:
            first = round(Fraction(milliseconds, 1000) * rate)
            text = f"The container's checksum does not agree with {what} from {names.within(first)} on."
            yield Finding("container", text, **names.place(first, first + 1))


def of_facts(master: Path, meant: Mapping[str, str], origin: str) -> Iterator[Finding]:
    """Yield what the files state otherwise than `meant`; `origin` says who means it, as `the record`."""
    try:
        found = facts_of(master)
    except (av.FFmpegError, OSError, BadInput) as error:
        reason = getattr(error, "strerror", None) or str(error)
        yield Finding("unreadable", sentence(f"{master} cannot be opened ({one_line(reason)})."))
        return
    for name in {**meant, **found}:
        if found.get(name) != meant.get(name):
            yield _of_fact(name, found.get(name), meant.get(name), origin)


def _of_fact(name: str, found: str | None, meant: str | None, origin: str) -> Finding:
    kind = "timecode" if name == "the timecode" else "fact"
    what = f"{name[:1].upper()}{name[1:]}" or "A fact without a name"  # a record may hold anything
    if found is None:
        return Finding(kind, sentence(f"{what} is not stated; {origin} has {meant}."))
    if meant is None:
        return Finding(kind, sentence(f"{what} is stated as {found}; {origin} has none."))
    return Finding(kind, sentence(f"{what} is {found}; {origin} has {meant}."))
