"""A finished master proved against its record: every byte, picture, time and second of sound."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

from lamphouse.graph.check.decoding import Decoded, decode
from lamphouse.graph.check.files import of_container, of_facts, of_files
from lamphouse.graph.check.findings import Finding, Findings, Names, of_pictures
from lamphouse.graph.check.order import align
from lamphouse.graph.check.sound import of_sound
from lamphouse.graph.check.times import of_times
from lamphouse.graph.media.master.decoded import LOSSLESS
from lamphouse.graph.media.master.record import MasterRecord
from lamphouse.graph.progress import Step

ORIGIN = "the record"


def check_files(master: Path, record: MasterRecord) -> Findings:
    """Return what is wrong with the bytes of a master and what it states of itself: nothing is decoded."""
    found, names = Findings(), Names(record.span)
    found.add(of_files(master, record, names))
    if record.files and not found.count:
        found.said.append(f"Every byte of {master.name} is as it was recorded (SHA-256).")
    else:  # whose checksums are within what that one has proved
        found.add(of_container(master, record, names))
    found.add(of_facts(master, record.facts, ORIGIN))
    return found


def check_pictures(
    master: Path, record: MasterRecord, step: Step, is_asked: Callable[[], bool]
) -> tuple[Findings, Decoded]:
    """Decode a master and return what is wrong with its pictures and its sound, and what was decoded.

    Raises Stopped once `is_asked` says so.
    """
    span, names, found = record.span, Names(record.span), Findings()
    by_means = record.delivery.codec not in LOSSLESS
    decoded = decode(master, step, span.frames, is_asked, by_means=by_means)
    found.add(_ended(master, decoded, names))
    found.add(_of_record(record))
    found.add(_pictures(record, decoded, names))
    found.said += _said_of_pictures(record, decoded) if not found.count else []
    count = found.count
    if record.sound is not None:
        rate = span.rate
        found.add(of_sound(master, record.sound, decoded, names=names, rate=rate, origin="the record's"))
        if found.count == count:
            found.said.append(f"All {record.sound.samples} samples of the sound are as they were recorded.")
    elif "the sound's coding" in record.facts:
        found.said.append("The sound's coding loses some, so its samples are not compared.")
    return found, decoded


def _ended(master: Path, decoded: Decoded, names: Names) -> Iterator[Finding]:
    if decoded.ended:
        at = len(decoded.pictures)
        text = f"{master} cannot be read from {names.within(at)} on ({decoded.ended})."
        yield Finding("unreadable", text, **names.place(at, at + 1))


def _of_record(record: MasterRecord) -> Iterator[Finding]:
    known, frames = len(record.pictures), record.span.frames
    if known not in (0, frames):
        yield Finding("record", f"The record has {known} pictures, and says that there are {frames}.")


def _pictures(record: MasterRecord, decoded: Decoded, names: Names) -> Iterator[Finding]:
    frames, found = record.span.frames, len(decoded.pictures)
    # Without checksums the number is all that is known of pictures.
    meant = record.pictures or tuple(f"{number}" for number in range(frames))
    seen = decoded.pictures if record.pictures else [str(number) for number in range(found)]
    alignment = align(meant, seen)
    yield from _broken(decoded, alignment.places, names)
    yield from of_pictures(alignment.differences, names, "the record's")
    yield from of_times(decoded.times, alignment.places, record.span.rate, names)


def _broken(decoded: Decoded, places: tuple[int | None, ...], names: Names) -> Iterator[Finding]:
    for number, broken in decoded.broken:
        place = places[number] if number < len(places) else number
        first = number if place is None else place
        near = "" if broken.frames else ", or one near it,"
        kind = "missing" if broken.is_gone else "broken"
        yield names.finding(kind, first, first + max(broken.frames, 1), f"{near} {broken.how}".strip())


def _said_of_pictures(record: MasterRecord, decoded: Decoded) -> list[str]:
    if record.pictures:
        return [f"All {len(decoded.pictures)} pictures decode to what was recorded, in order and on time."]
    return [
        f"There are {len(decoded.pictures)} pictures, as recorded, and each can be decoded; the record has "
        "no checksums of them, for nobody read them back."
    ]
