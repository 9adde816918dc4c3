"""What is to be known of a pass before it begins: what is in its way, what another left, and the room."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Final

import av

from lamphouse.graph.media.codes.raster import raster_of
from lamphouse.graph.media.master.containers import CONTAINERS
from lamphouse.graph.media.master.master import check_name
from lamphouse.graph.media.master.pass_record import count_record
from lamphouse.graph.media.master.resume import can_resume
from lamphouse.graph.media.master.under_way import UnderWay
from lamphouse.graph.reel_files.named import refuse_over
from lamphouse.graph.transfer.lead_in import check_legible
from lamphouse.graph.transfer.plan import Plan
from lamphouse.nodes.errors import BadInput

PACKED: Final = Fraction(16, 15)  # bits of DPX and v210 for one of their codes, which fill no whole words
STEREO: Final = 6  # bytes of two samples of 24 bits


@dataclass(frozen=True, slots=True)
class Left:
    """What a pass that did not end has left: `frames` of `of` are on record, `read_back` of them good."""

    path: Path
    frames: int
    read_back: int
    of: int
    can_resume: bool


@dataclass(frozen=True, slots=True)
class Room:
    """Bytes that a master takes at most, and those that are free where it is to lie."""

    most: int
    free: int

    @property
    def is_enough(self) -> bool:
        """Whether it fits in whatever the pictures are."""
        return self.most <= self.free


@dataclass(frozen=True, slots=True)
class Beforehand:
    """What is said before a pass: sentences to be known, and why it cannot be begun, where that is so."""

    said: tuple[str, ...]
    refused: str
    left: Left | None
    room: Room | None


def beforehand(pass_: Plan, master: Path) -> Beforehand:
    """Return what is to be known before `pass_` writes `master`. It looks at names and headers alone."""
    way = UnderWay(master)
    left, refused = None, ""
    try:
        for check in _checks(pass_, way):
            check()
        left = _left(pass_, way)
    except BadInput as error:
        refused = str(error)
    return Beforehand(tuple(_said(pass_)), refused, left, _room(pass_, way))


def _checks(pass_: Plan, way: UnderWay) -> Iterator[Callable[[], None]]:
    yield lambda: refuse_over(pass_.opened, way.master, *way.names)
    yield lambda: pass_.opened.refuse_missing(pass_.without)
    yield lambda: check_name(way.master, pass_.delivery)
    yield lambda: check_legible(pass_)
    yield lambda: _check_folder(way.master.parent)


def _check_folder(folder: Path) -> None:
    if not (folder.is_dir() and os.access(folder, os.W_OK)):
        raise BadInput(f"{folder}, the folder of the master, is not there or takes no files; choose another.")


def _said(pass_: Plan) -> Iterator[str]:
    if pass_.span.speed:
        yield pass_.span.speed
    delivery = pass_.delivery
    if not CONTAINERS[delivery.container].grows:
        yield (
            f"The index of {delivery.container} comes last, so that what is written is read back at the end "
            "and not beside the pass."
        )
    if not can_resume(delivery):
        yield "A pass into this delivery that ends early cannot be resumed; it would start anew."
    if delivery.sound is not None and pass_.reel.sound is None:
        yield "The reel has no sound, so the master has none."


def _left(pass_: Plan, way: UnderWay) -> Left | None:
    if not way.left:
        return None
    known = count_record(way.record)
    is_resumed = known is not None and can_resume(pass_.delivery)
    return Left(way.left[0], *(known or (0, 0)), pass_.frames, is_resumed)


def _room(pass_: Plan, way: UnderWay) -> Room | None:
    try:
        free = shutil.disk_usage(way.master.parent).free
    except OSError:
        return None
    return Room(most_bytes(pass_), free)


def most_bytes(pass_: Plan) -> int:
    """Return how many bytes the pictures and the sound of a pass are before any coding makes them less."""
    scan, delivery = pass_.reel.scan, pass_.delivery
    width, height = raster_of(delivery, scan.width, scan.height)
    form = av.VideoFormat(delivery.pixel_format, width, height)
    bits = sum(part.bits * part.width * part.height for part in form.components)
    return int(pass_.frames * bits * PACKED / 8 + _sound_bytes(pass_))


def _sound_bytes(pass_: Plan) -> Fraction:
    sound = pass_.delivery.sound
    if sound is None or pass_.reel.sound is None:
        return Fraction(0)
    return pass_.frames / pass_.span.rate * sound.rate * STEREO
