"""Whether a file is what its delivery asks for: container, codings, raster, rate, tags, sound."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import Any, Final

import av

from lamphouse.graph.check.findings import Finding, Findings
from lamphouse.graph.check.stated import Stated, Track, stated
from lamphouse.graph.check.subject import Subject
from lamphouse.graph.media.codes.colour_tags import UNSTATED
from lamphouse.graph.media.codes.raster import aspect_of, raster_of
from lamphouse.graph.media.master.colour import colour_tags
from lamphouse.graph.media.master.encoder import RANGE_TAGS
from lamphouse.graph.media.master.facts import facts_of
from lamphouse.graph.media.master.record import MasterRecord
from lamphouse.nodes.one_line import sentence

RULE: Final = "the delivery"
SOUND: Final = "the sound's coding"  # a fact of the record, where the master was written with sound

Row = tuple[str, Any, Any]  # what it is, as the file has it, as it is asked for


def of_conformity(subject: Subject) -> Findings:
    """Return where a master is other than its delivery asks; of one without a record nothing is known."""
    record = subject.record
    if record is None:
        return Findings.of((), ["There is no record beside it, so it is not held against a delivery."])
    if subject.master.is_dir():
        found = list(_differing(_rows_of_stills(subject, record)))
    else:
        file = stated(subject.master)
        found = [*_differing(_rows(file, subject, record)), *_tracks(file.tracks, record)]
    return Findings.of(found, ["Container, coding, raster, rate and tags are those of the delivery."])


def _differing(rows: Iterable[Row]) -> Iterator[Finding]:
    for what, found, meant in rows:
        if found != meant:
            text = f"The {what} is {found}, where the delivery has {meant}."
            yield Finding("conformity", sentence(text), rule=RULE)


def _rows(file: Stated, subject: Subject, record: MasterRecord) -> Iterator[Row]:
    delivery, scan = record.delivery, record.reel.scan
    raster = raster_of(delivery, scan.width, scan.height)
    has_container = delivery.container in file.container.split(",")
    yield "container", delivery.container if has_container else file.container, delivery.container
    yield "coding", file.codec, av.Codec(delivery.codec, "w").canonical_name
    yield "pixel format", file.pixel_format, delivery.pixel_format
    yield "raster", _by(file.raster), _by(raster)
    yield "rate", file.rate, subject.rate
    yield "pixel aspect", file.aspect or Fraction(1), aspect_of(delivery, Fraction(scan.pixel_aspect))
    yield "order of fields", file.scanning or delivery.scanning, delivery.scanning
    meant = (*colour_tags(delivery, raster[1]), RANGE_TAGS[delivery.range])
    for what, code, asked in zip(
        ("primaries tag", "transfer tag", "matrix tag", "range tag"),
        (*file.colour, file.range),
        meant,
        strict=True,
    ):
        is_open = code in UNSTATED and not (what == "matrix tag" and asked == 0)
        yield what, asked if is_open else code, asked  # what is not stated is told by `tags`


def _tracks(tracks: tuple[Track, ...], record: MasterRecord) -> Iterator[Finding]:
    sound = record.delivery.sound
    meant = int(sound is not None and SOUND in record.facts)
    yield from _differing([("number of sound tracks", len(tracks), meant)])
    if sound is not None and meant:
        coding = av.Codec(sound.codec, "w").canonical_name
        for track in tracks[:1]:
            yield from _differing(
                [("sound's coding", track.codec, coding), ("sound's rate", track.rate, sound.rate)]
            )


def _rows_of_stills(subject: Subject, record: MasterRecord) -> Iterator[Row]:
    facts, delivery, scan = facts_of(subject.master), record.delivery, record.reel.scan
    bits = av.VideoFormat(delivery.pixel_format, 16, 16).components[0].bits
    yield "form of the stills", facts["the container"], delivery.container
    yield "raster", facts["the raster"], _by(raster_of(delivery, scan.width, scan.height))
    yield "depth", facts["the depth"], str(bits)


def _by(raster: tuple[int, int]) -> str:
    return f"{raster[0]}x{raster[1]}"
