"""Every frame of a master made again from its reel, and held against what the master decodes to."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import groupby
from pathlib import Path
from typing import Final

from lamphouse.graph.check.decoding import Decoded
from lamphouse.graph.check.findings import Finding, Findings, Names, of_pictures
from lamphouse.graph.check.order import Difference, align
from lamphouse.graph.check.sound import of_sound
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.codes.raster import Shape, aspect_of, raster_of
from lamphouse.graph.media.codes.sums import SecondSums
from lamphouse.graph.media.master.blanks import blanks_of
from lamphouse.graph.media.master.decoded import LOSSLESS
from lamphouse.graph.media.master.likeness import LIMIT, Means, distance, means_of
from lamphouse.graph.media.master.pass_record import differences
from lamphouse.graph.media.master.record import MasterRecord, SoundSums
from lamphouse.graph.media.scan.scan import Scan
from lamphouse.graph.media.sound.write import LOSSLESS_SOUND, integers
from lamphouse.graph.progress import Step
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.transfer.made_of import made_of
from lamphouse.graph.transfer.notes import PassNotes
from lamphouse.graph.transfer.pictures import Pictures
from lamphouse.graph.transfer.plan import Plan, plan
from lamphouse.graph.transfer.sound import MasterSound
from lamphouse.graph.transfer.stages import Stages
from lamphouse.graph.transfer.wanted import stale_frames
from lamphouse.nodes.errors import Stopped

STALE: Final = ", for the settings there have changed since"


@dataclass(slots=True)
class Again:
    """What a reel makes of a master now: checksums of pictures, or means where the master is lossy; sound.

    `stale` are the frames whose maths is no longer that of the record, `changed` what else is not.
    """

    pictures: list[str] = field(default_factory=list)
    means: list[Means] = field(default_factory=list)
    sound: SoundSums | None = None
    stale: frozenset[int] = frozenset()
    changed: tuple[str, ...] = ()


def make_again(opened: OpenedReel, record: MasterRecord, step: Step, is_asked: Callable[[], bool]) -> Again:
    """Make every frame of the master of `record` from `opened`, as a pass would, and write none.

    Raises BadInput where the scan cannot be read or a node is missing, Stopped once `is_asked` says so.
    """
    pass_ = plan(opened, record.delivery, record.first, record.stop, without=record.without)
    opened.refuse_missing(record.without)
    with Grade(opened) as grade, opened.open_scan() as scan:
        again = Again(
            stale=frozenset(stale_frames(record, pass_.span, grade)),
            changed=tuple(differences(record.made_of, made_of(pass_, grade))),
        )
        _fill(again, pass_, scan, grade, step=step, is_asked=is_asked)
    return again


def _fill(
    again: Again, pass_: Plan, scan: Scan, grade: Grade, *, step: Step, is_asked: Callable[[], bool]
) -> None:
    delivery = pass_.delivery
    aspect = aspect_of(delivery, Fraction(pass_.reel.scan.pixel_aspect))
    blanks = blanks_of(delivery, Shape(*raster_of(delivery, scan.width, scan.height), aspect))
    pictures = Pictures(pass_, scan, grade, blanks.blank, stages=Stages(), notes=PassNotes())
    is_exact = delivery.codec in LOSSLESS
    with _Sound(pass_) as sound, closing(pictures.all([range(pass_.frames)])) as filled_ones:
        for number, filled in enumerate(filled_ones):
            assert filled is not None
            if is_asked():
                raise Stopped(f"Stopped after {number} frames were made again; nothing was changed.")
            if is_exact:
                again.pictures.append(blanks.sum_of(filled))
            else:
                again.means.append(means_of(filled.planes, filled.coding.layout.bits))
            sound.add(number)
            step(number + 1, pass_.frames)
        again.sound = sound.all()


class _Sound:
    """The lossless sound of a pass, as checksums."""

    def __init__(self, pass_: Plan) -> None:
        self._source = MasterSound(pass_)
        sound = pass_.delivery.sound
        is_known = sound is not None and self._source.is_wanted and sound.codec in LOSSLESS_SOUND
        self._bits = 24 if sound is not None and sound.codec == "pcm_s24le" else 16
        self._sums = SecondSums(sound.rate) if sound is not None and is_known else None

    def __enter__(self) -> _Sound:
        return self

    def __exit__(self, *error: object) -> None:
        self._source.close()

    def add(self, number: int) -> None:
        """Take the sound of frame `number`."""
        if self._sums is not None:
            self._sums.add(integers(self._source.block(number), self._bits))

    def all(self) -> SoundSums | None:
        """Return the checksums of all of it."""
        if self._sums is None:
            return None
        return SoundSums(rate=self._sums.rate, samples=self._sums.samples, seconds=self._sums.all())


def check_against(again: Again, master: Path, record: MasterRecord, decoded: Decoded) -> Findings:
    """Return where the master, as `decoded`, is not what the reel makes `again`."""
    found, names = Findings(), Names(record.span)
    found.add(
        _of_codes(again, record, decoded, names) if again.pictures else _of_means(again, decoded, names)
    )
    if again.sound is not None:
        rate = record.span.rate
        found.add(of_sound(master, again.sound, decoded, names=names, rate=rate, origin="the reel's"))
    if again.changed:
        found.said.append(f"Other than when the master was made: {', '.join(again.changed)}.")
    if not found.count:
        found.said.append(f"Each of its {record.span.frames} frames is what the reel makes now.")
    return found


def _of_codes(again: Again, record: MasterRecord, decoded: Decoded, names: Names) -> Iterator[Finding]:
    # What the record has found already, and the reel finds too, is not said twice.
    known = set(align(record.pictures, decoded.pictures).differences) if record.pictures else set()
    for found in align(again.pictures, decoded.pictures).differences:
        if found in known:
            continue
        if found.kind == "differs":
            yield from _differing(found, again.stale, names)
        else:
            yield from of_pictures([found], names, "what the reel makes")


def _differing(found: Difference, stale: frozenset[int], names: Names) -> Iterator[Finding]:
    for is_stale, run in groupby(range(found.first, found.stop), stale.__contains__):
        frames = list(run)
        verb = "differs" if len(frames) == 1 else "differ"
        why = STALE if is_stale else ""
        kind = "stale" if is_stale else "differs"
        predicate = f"{verb} from what the reel makes now{why}"
        yield names.finding(kind, frames[0], frames[-1] + 1, predicate)


def _of_means(again: Again, decoded: Decoded, names: Names) -> Iterator[Finding]:
    for number, (meant, found) in enumerate(zip(again.means, decoded.means, strict=False)):
        off = 0.0 if found is None else distance(found, meant)
        if off > LIMIT:
            is_stale = number in again.stale
            why = STALE if is_stale else f", where the coding may take {LIMIT:.0f}"
            text = f"is {off:.1f} codes of 8 bits off what the reel makes{why}"
            yield names.finding("stale" if is_stale else "differs", number, number + 1, text)
