"""The pass: a whole reel, corrected frame by frame, into a master.

Decoding, correction and encoding each have their own thread and a short queue between
them, so that the slowest sets the pace and memory does not grow with length. Where the scan's pixels are
the master's, with black around them or none, a picture goes from the codes of the one into the codes of
the other in one step.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.resolve import refuse_missing
from lamphouse.graph.cues.place import counter
from lamphouse.graph.grade import Grade
from lamphouse.graph.locks import locked
from lamphouse.graph.made_of import made_of
from lamphouse.graph.media.encode_planes import Blank
from lamphouse.graph.media.lineup import bars, black, tone
from lamphouse.graph.media.master import Master, check_name, open_master
from lamphouse.graph.media.pass_record import MadeOf, PassRecord, differences
from lamphouse.graph.media.raster import fit, raster_of, window
from lamphouse.graph.media.read_ahead import Source, read_ahead
from lamphouse.graph.media.resume import (
    Earlier,
    Kept,
    can_resume,
    earlier_pass,
    refuse_left,
    refuse_resume,
    way_on,
)
from lamphouse.graph.media.scan import Scan, open_scan
from lamphouse.graph.media.sound import Places, SoundSource, open_sound, sample_at
from lamphouse.graph.media.under_way import UnderWay, remove
from lamphouse.graph.media.write_behind import write_behind
from lamphouse.graph.named_files import refuse_over
from lamphouse.graph.pass_notes import PassNotes
from lamphouse.graph.progress import Step
from lamphouse.graph.reel import Delivery, Reel
from lamphouse.graph.reel_media import check_scan
from lamphouse.graph.stages import Stages
from lamphouse.graph.stopping import stopping
from lamphouse.graph.store import media_path
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput, CheckFailed, Stopped

Picture = NDArray[np.float32]

STEREO: Final = 2  # channels of the tone where a reel has no sound of its own


@dataclass(frozen=True, slots=True)
class Plan:
    """What goes where in a master. `start` and `stop` are frames of the scan, half-open.

    `without` names nodes of the chain that may be missing: their pictures pass through.
    """

    reel: Reel
    reel_file: Path
    delivery: Delivery
    start: int
    stop: int
    without: tuple[str, ...] = ()

    @property
    def before(self) -> int:
        """Frames of bars and black before the picture."""
        return self.delivery.bars + self.delivery.black_before

    @property
    def frames(self) -> int:
        """Frames of the whole master."""
        return self.before + self.stop - self.start + self.delivery.black_after


def plan(
    reel: Reel, reel_file: Path, delivery: Delivery, start: int, stop: int, *, without: tuple[str, ...] = ()
) -> Plan:
    """Return the plan of a pass, or raise BadInput where there is nothing to transfer."""
    if start >= stop:
        raise BadInput(f"Nothing lies between frame {start} and frame {stop}; --to must come after --from.")
    return Plan(reel, reel_file, delivery, start, stop, without)


def reel_scan(reel: Reel, reel_file: Path) -> Scan:
    """Return the opened scan of a reel. Raises BadInput where it is not what the reel was made with."""
    ref = reel.scan
    scan = open_scan(media_path(reel_file, ref.path), matrix=ref.matrix, range_=ref.range)
    try:
        check_scan(scan, ref, reel_file)
    except BadInput:
        scan.close()
        raise
    return scan


def transfer(
    pass_: Plan,
    master_file: Path,
    catalogue: Catalogue,
    step: Step,
    *,
    resume: bool = False,
    discard: bool = False,
) -> Master:
    """Write the master of `pass_` at `master_file` and return it, finished.

    `step` is called with the frames written and the frames in all. The file appears under its name only
    when it is complete. What a pass leaves that ends early is kept: with `resume` the same pass goes on with
    it, with `discard` it is deleted first, with neither it is refused. Raises BadInput for media that cannot
    be read or written, and where a node of the chain is missing; Stopped after Ctrl-C; CheckFailed where
    what the pass is made of changed during it.
    """
    way = UnderWay(master_file)
    refuse_over(pass_.reel, pass_.reel_file, master_file, *way.names)
    refuse_missing(pass_.reel.chain, catalogue, pass_.without)
    check_name(master_file, pass_.delivery)
    folder = pass_.reel_file.parent
    with _interrupts_told(way, pass_.delivery), _alone(way), Grade(pass_.reel, catalogue, folder) as grade:
        made = made_of(pass_, grade, catalogue)
        earlier = _earlier(way, pass_, made, resume=resume, discard=discard)
        grade.prepare(range(pass_.start, pass_.stop))
        with (
            reel_scan(pass_.reel, pass_.reel_file) as scan,
            stopping(f"Stopped at once; {_kept(way, pass_.delivery)}") as is_asked,
        ):
            with (
                _telling_what_is_kept(way, pass_.delivery),
                _begun(pass_, way, scan, made, earlier) as master,
            ):
                _write(pass_, scan, grade, master, earlier, step=step, is_asked=is_asked)
                master.complete()
            remove(way.earlier)
            _check_unchanged(way, made, made_of(pass_, grade, catalogue))
            master.finish()
            way.discard()
    return master


def _earlier(way: UnderWay, pass_: Plan, made: MadeOf, *, resume: bool, discard: bool) -> Earlier | None:
    if resume:
        refuse_resume(way, pass_.delivery)
        return earlier_pass(way, made)
    if discard:
        way.discard()
    refuse_left(way, pass_.delivery)
    return None


@contextmanager
def _alone(way: UnderWay) -> Iterator[None]:
    """Keep other passes to the same master out."""
    if not way.master.parent.is_dir():
        raise BadInput(f"There is no folder {way.master.parent}; make it, or choose another place.")
    with locked(way.master, 0, removed=True):
        yield


@contextmanager
def _begun(pass_: Plan, way: UnderWay, scan: Scan, made: MadeOf, earlier: Earlier | None) -> Iterator[Master]:
    """Yield the master at its beginning; what an earlier pass left lies beside it."""
    # The record comes first: killed in between, no master under way is without one.
    record = (
        PassRecord(way.record, made, earlier.known if earlier else ()) if can_resume(pass_.delivery) else None
    )
    if earlier is not None:
        earlier.set_aside(way)
    try:
        with _master(pass_, way.master, scan) as master:
            if earlier is not None and earlier.frames and not master.can_keep(earlier.extradata):
                raise BadInput(f"The encoder here is not the one that wrote {way.part}.")
            master.record = record
            yield master
    finally:
        if record is not None:
            record.close()
        way.tidy()


@contextmanager
def _interrupts_told(way: UnderWay, delivery: Delivery) -> Iterator[None]:
    """Say what is kept where Ctrl-C comes before the first frame is begun, or once more at the very end."""
    try:
        yield
    except KeyboardInterrupt as error:
        if not way.left:
            raise
        raise Stopped(f"Stopped; {_kept(way, delivery)}") from error


@contextmanager
def _telling_what_is_kept(way: UnderWay, delivery: Delivery) -> Iterator[None]:
    try:
        yield
    except (BadInput, CheckFailed, Stopped) as error:
        if not way.left:
            raise
        raise type(error)(f"{str(error).rstrip('.')}; {_kept(way, delivery)}") from error


def _kept(way: UnderWay, delivery: Delivery) -> str:
    return f"what is done is kept in {way.part}: {way_on(delivery)}."


def _check_unchanged(way: UnderWay, before: MadeOf, after: MadeOf) -> None:
    if changed := " and ".join(differences(before, after)):
        remove(way.record)  # nobody is to go on with it unseen
        raise CheckFailed(
            f"{changed[0].upper()}{changed[1:]} changed during the pass, so {way.part} may be made of two; "
            "look at it and rename it, or start anew with --discard."
        )


def _master(pass_: Plan, master_file: Path, scan: Scan) -> Master:
    counters = counter(pass_.reel)
    return open_master(
        master_file,
        pass_.delivery,
        rate=counters.rate,
        timecode=counters.readings(pass_.start - pass_.before).timecode,
        width=scan.width,
        height=scan.height,
        pixel_aspect=Fraction(pass_.reel.scan.pixel_aspect),
    )


def _write(
    pass_: Plan,
    scan: Scan,
    grade: Grade,
    master: Master,
    earlier: Earlier | None,
    *,
    step: Step,
    is_asked: Callable[[], bool],
) -> None:
    """Write every frame. When this returns or raises, no other thread is at work any more."""
    keep, stages, notes = earlier.frames if earlier else 0, Stages(), PassNotes()
    with (
        closing(earlier.kept() if earlier else _nothing()) as kept,
        closing(_MasterSound(pass_, master.rate)) as sound,
        closing(_Pictures(pass_, scan, grade, master, stages=stages, notes=notes).all(keep)) as pictures,
    ):

        def write(numbered: tuple[int, Blank | None]) -> None:
            number, filled = numbered
            with stages.during("encoding"):
                if filled is not None:
                    master.write_filled(filled)
                elif (packet := next(kept, None)) is not None:
                    master.keep(*packet)
                else:
                    raise BadInput(f"What an earlier pass left changed at frame {number} while it was read.")
                if sound.is_wanted:
                    block = sound.block(number)
                    notes.hear(number, block)
                    master.write_sound(block)
            step(number + 1, pass_.frames, stages.limit)

        write_behind(_until(is_asked, pictures, pass_.frames), write)
        master.notes = notes.sentences()


def _nothing() -> Generator[Kept, None, None]:
    yield from ()


def _until(
    is_asked: Callable[[], bool], pictures: Iterable[Blank | None], frames: int
) -> Iterator[tuple[int, Blank | None]]:
    for number, picture in enumerate(pictures):
        if is_asked():
            raise Stopped(f"Stopped after {number} of {frames} frames.")
        yield number, picture


class _Pictures:
    """Every picture of a master, filled in order."""

    def __init__(
        self, pass_: Plan, scan: Scan, grade: Grade, master: Master, *, stages: Stages, notes: PassNotes
    ) -> None:
        self._pass, self._scan, self._grade = pass_, scan, grade
        self._master, self._stages, self._notes = master, stages, notes
        self._aspect = Fraction(pass_.reel.scan.pixel_aspect)
        self._window = window(scan.width, scan.height, self._aspect, pass_.delivery)

    def all(self, keep: int) -> Generator[Blank | None, None, None]:
        """Yield every picture of the master; None for the first `keep`, which are there already."""
        pass_, delivery = self._pass, self._pass.delivery
        shape = raster_of(delivery, self._scan.width, self._scan.height)
        yield from [None] * keep
        if keep < delivery.bars:
            yield from self._repeated(bars(*shape), delivery.bars - keep)
        yield from self._repeated(black(*shape), min(delivery.black_before, pass_.before - keep))
        yield from self._film(pass_.start + max(0, keep - pass_.before))
        yield from self._repeated(black(*shape), min(delivery.black_after, pass_.frames - keep))

    def _film(self, start: int) -> Iterator[Blank]:
        with closing(read_ahead(self._read, range(start, self._pass.stop))) as frames:
            for number, source in frames:
                yield self._corrected(number, source)

    def _read(self, frame: int) -> Source:
        with self._stages.during("decoding"):
            source = self._scan.read_coded(frame)
            self._notes.see(frame, source)
            return source

    def _corrected(self, number: int, source: Source) -> Blank:
        blank, grade, stages = self._master.blank(), self._grade, self._stages
        if self._window is not None:
            with stages.during("correction"):
                grade.correct_into(number, source, blank.part(*self._window), blank.coding)
            return blank
        with stages.during("correction"):
            picture = grade.correct(number, source)
        with stages.during("resizing"):
            picture = fit(picture, self._aspect, self._pass.delivery, grade.weighted)
        with stages.during("correction"):
            grade.encode_into(picture, blank.planes, blank.coding)
        return blank

    def _repeated(self, picture: Picture, count: int) -> Iterator[Blank]:
        first: Blank | None = None
        for _ in range(count):
            blank = self._master.blank()
            if first is None:
                first = blank
                self._grade.encode_into(picture, blank.planes, blank.coding)
            else:
                for plane, filled in zip(blank.planes, first.planes, strict=True):
                    np.copyto(plane, filled)
            yield blank


class _MasterSound:
    """Sound by frame of the master: tone under bars, silence under black, the reel's own beside film."""

    def __init__(self, pass_: Plan, rate: Fraction) -> None:
        self._pass, self._rate = pass_, rate
        ref, delivery = pass_.reel.sound, pass_.delivery
        self._samples = delivery.sound.rate if delivery.sound else 0
        self._source: SoundSource | None = None
        if ref is not None and delivery.sound is not None:
            self._source = open_sound(media_path(pass_.reel_file, ref.path), self._samples)
            # One offset for the whole pass: sound never drifts, at any frame rate.
            first = Places(ref.starts_at, rate, self._samples).at(pass_.start)
            self._offset = first - self._at(pass_.before)
        self.is_wanted = delivery.sound is not None and (self._source is not None or delivery.bars > 0)
        self._channels = self._source.channels if self._source else STEREO

    def close(self) -> None:
        """Release the sound file."""
        if self._source is not None:
            self._source.close()

    def block(self, number: int) -> NDArray[np.float32]:
        """Return the samples (channels, n) of frame `number` of the master."""
        start, stop = self._at(number), self._at(number + 1)
        if number < self._pass.delivery.bars:
            return tone(start, stop, self._samples, self._channels)
        beside_film = self._pass.before <= number < self._pass.frames - self._pass.delivery.black_after
        if beside_film and self._source is not None:
            return self._source.block(start + self._offset, stop + self._offset)
        return np.zeros((self._channels, stop - start), np.float32)

    def _at(self, frame: int) -> int:
        return sample_at(frame, self._rate, self._samples)
