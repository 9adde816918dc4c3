"""The pass: a whole reel, corrected frame by frame, into a master.

Decoding, correction and encoding each have their own thread and a short queue between
them, so that the slowest sets the pace and memory does not grow with length.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterable, Iterator
from contextlib import closing, contextmanager, nullcontext, suppress
from fractions import Fraction
from pathlib import Path

from lamphouse.graph.files.whole_file import sweep
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.codes.encode_planes import Blank
from lamphouse.graph.media.master.beside import Beside, Watch
from lamphouse.graph.media.master.master import Master, check_name, open_master
from lamphouse.graph.media.master.pass_record import MadeOf, PassRecord, differences
from lamphouse.graph.media.master.read_back import Comparison
from lamphouse.graph.media.master.record import MasterRecord, load_record, record_path, save_record
from lamphouse.graph.media.master.resume import (
    Earlier,
    Kept,
    can_resume,
    earlier_pass,
    refuse_left,
    refuse_resume,
    way_on,
)
from lamphouse.graph.media.master.under_way import UnderWay, remove
from lamphouse.graph.media.master.write_behind import write_behind
from lamphouse.graph.media.scan.scan import Scan
from lamphouse.graph.progress import Step
from lamphouse.graph.reel.records import Delivery
from lamphouse.graph.reel_files.named import refuse_over
from lamphouse.graph.time.rate import parse_rate
from lamphouse.graph.transfer.made_of import made_of
from lamphouse.graph.transfer.notes import PassNotes
from lamphouse.graph.transfer.pictures import Pictures
from lamphouse.graph.transfer.plan import Plan
from lamphouse.graph.transfer.record import record_of
from lamphouse.graph.transfer.sound import MasterSound
from lamphouse.graph.transfer.stages import Stages
from lamphouse.graph.transfer.stopping import stopping
from lamphouse.nodes.errors import BadInput, CheckFailed, Stopped, stem


def transfer(
    pass_: Plan,
    master_file: Path,
    step: Step,
    *,
    resume: bool = False,
    discard: bool = False,
    reads_back: bool = True,
    watch: Watch | None = None,
) -> Master:
    """Write the master of `pass_` at `master_file` and return it, finished, its record beside it.

    `step` is called with the frames written and the frames in all. Each frame is read back from the disk
    while the next are written, unless not `reads_back`, and handed to `watch` with its number. The file
    appears under its name only when it is complete and was found good. What a pass leaves that ends early is
    kept: with `resume` the same pass goes on with it, with `discard` it is deleted first, with neither it is
    refused. Raises BadInput for media that cannot be read or written, and where a node of the chain is
    missing; Stopped after Ctrl-C; CheckFailed where what comes back is not what was meant, or what the pass
    is made of changed during it.
    """
    way = UnderWay(master_file)
    refuse_over(pass_.opened, master_file, *way.names)
    pass_.opened.refuse_missing(pass_.without)
    with _interrupts_told(way, pass_.delivery), _alone(way), Grade(pass_.opened) as grade:
        check_name(master_file, pass_.delivery)
        made = made_of(pass_, grade)
        earlier = _earlier(way, pass_, made, resume=resume, discard=discard)
        grade.prepare(range(pass_.start, pass_.stop))
        with (
            pass_.opened.open_scan() as scan,
            stopping(f"Stopped at once; {_kept(way, pass_.delivery)}.") as is_asked,
        ):
            with (
                _telling_what_is_kept(way, pass_.delivery),
                _begun(pass_, way, scan, made, earlier) as master,
                _reading_back(pass_, way, master, earlier, watch) if reads_back else nullcontext() as beside,
            ):
                _write(
                    pass_, scan, grade, master, earlier=earlier, beside=beside, step=step, is_asked=is_asked
                )
                master.complete()
                master.found = beside.end(is_asked) if beside else None
            remove(way.earlier)
            _check_unchanged(way, made, made_of(pass_, grade))
            _save(way, record_of(pass_, grade, master, way.part, made))
            master.finish()
            way.discard()
    return master


def _earlier(way: UnderWay, pass_: Plan, made: MadeOf, *, resume: bool, discard: bool) -> Earlier | None:
    if resume:
        refuse_resume(way, pass_.delivery)
        return earlier_pass(way, made, pass_.delivery.container)
    if discard:
        way.discard()
    refuse_left(way, pass_.delivery)
    return None


@contextmanager
def _alone(way: UnderWay) -> Iterator[None]:
    """Keep other passes to the same master out, and clear away what a killed one no longer needs."""
    with way.alone():
        sweep(record_path(way.master))
        way.tidy()
        yield


@contextmanager
def _begun(pass_: Plan, way: UnderWay, scan: Scan, made: MadeOf, earlier: Earlier | None) -> Iterator[Master]:
    """Yield the master at its beginning; what an earlier pass left lies beside it."""
    # The record comes first: killed in between, no master under way is without one.
    record = (
        PassRecord(way.record, made, *((earlier.known, len(earlier.read_back)) if earlier else ()))
        if can_resume(pass_.delivery)
        else None
    )
    if earlier is not None:
        earlier.make_room(way)
    try:
        with _master(pass_, way.master, scan, goes_on=way.part.is_dir()) as master:
            if earlier is not None and earlier.frames and not master.can_keep(earlier.extradata):
                raise BadInput(f"The encoder here is not the one that wrote {way.part}.")
            master.record = record
            yield master
    finally:
        if record is not None:
            record.close()
        way.tidy()


@contextmanager
def _reading_back(
    pass_: Plan, way: UnderWay, master: Master, earlier: Earlier | None, watch: Watch | None
) -> Iterator[Beside]:
    """Yield the read-back of the master under way."""
    master.meant.kept = earlier.read_back if earlier else ()
    comparison = Comparison(
        way.part,
        master.meant,
        rate=master.rate,
        raster=(master.shape.width, master.shape.height),
        named=pass_.span.words,
        advice="neither this disk nor the memory of this machine is to be trusted before they are tested",
    )
    container = pass_.delivery.container
    with Beside(way, container, master.meant, comparison, watch=watch) as beside:
        yield beside


@contextmanager
def _interrupts_told(way: UnderWay, delivery: Delivery) -> Iterator[None]:
    """Say what is kept where Ctrl-C comes before the first frame is begun, or once more at the very end."""
    try:
        yield
    except KeyboardInterrupt as error:
        if not way.left:
            raise
        raise Stopped(f"Stopped; {_kept(way, delivery)}.") from error


@contextmanager
def _telling_what_is_kept(way: UnderWay, delivery: Delivery) -> Iterator[None]:
    try:
        yield
    except (BadInput, CheckFailed, Stopped) as error:
        if not way.left:
            raise
        raise type(error)(f"{stem(error)}; {_kept(way, delivery)}.") from error


def _kept(way: UnderWay, delivery: Delivery) -> str:
    return f"what is done is kept in {way.part}: {way_on(delivery)}"


def _check_unchanged(way: UnderWay, before: MadeOf, after: MadeOf) -> None:
    if changed := " and ".join(differences(before, after)):
        remove(way.record)  # nobody is to go on with it unseen
        raise CheckFailed(
            f"{changed[0].upper()}{changed[1:]} changed during the pass, so {way.part} may be made of two; "
            "look at it and rename it, or start anew with --discard."
        )


def _save(way: UnderWay, record: MasterRecord) -> None:
    with suppress(BadInput):  # the usual case: there is none
        if load_record(way.master).files == record.files:  # of this master, by a pass killed before its end
            remove(record_path(way.master))
    save_record(way.master, record)


def _master(pass_: Plan, master_file: Path, scan: Scan, *, goes_on: bool) -> Master:
    return open_master(
        master_file,
        pass_.delivery,
        rate=parse_rate(pass_.reel.rate),
        timecode=pass_.span.timecode(0),
        width=scan.width,
        height=scan.height,
        pixel_aspect=Fraction(pass_.reel.scan.pixel_aspect),
        goes_on=goes_on,
    )


def _write(
    pass_: Plan,
    scan: Scan,
    grade: Grade,
    master: Master,
    *,
    earlier: Earlier | None,
    beside: Beside | None,
    step: Step,
    is_asked: Callable[[], bool],
) -> None:
    """Write every frame. When this returns or raises, no other thread is at work any more."""
    keep, stages, notes = earlier.frames if earlier else 0, Stages(), PassNotes()
    with (
        closing(earlier.kept() if earlier else _nothing()) as kept,
        closing(MasterSound(pass_, master.rate)) as sound,
        closing(Pictures(pass_, scan, grade, master.blank, stages=stages, notes=notes).all(keep)) as pictures,
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
            if beside is not None:
                master.note_read_back(beside.written())
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
