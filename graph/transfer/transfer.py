"""The pass: a whole reel, corrected frame by frame, into a master.

Decoding, correction and encoding each have their own thread and a short queue between
them, so that the slowest sets the pace and memory does not grow with length.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager, nullcontext, suppress
from fractions import Fraction
from pathlib import Path

from lamphouse.graph.files.whole_file import sweep
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.codes.encode_planes import Blank
from lamphouse.graph.media.master.beside import Beside
from lamphouse.graph.media.master.coming import Coming
from lamphouse.graph.media.master.master import Master, check_name, open_master
from lamphouse.graph.media.master.pass_record import MadeOf, PassRecord, differences
from lamphouse.graph.media.master.read_back import Comparison
from lamphouse.graph.media.master.ready import Ready, left_ready
from lamphouse.graph.media.master.record import MasterRecord, load_record, record_path, save_record
from lamphouse.graph.media.master.resume import can_resume, refuse_left, refuse_resume, way_on
from lamphouse.graph.media.master.under_way import UnderWay, remove
from lamphouse.graph.media.master.write_behind import write_behind
from lamphouse.graph.media.scan.scan import Scan
from lamphouse.graph.progress import Step
from lamphouse.graph.reel.records import Delivery
from lamphouse.graph.reel_files.named import refuse_over
from lamphouse.graph.transfer.cuts import cut_sentences
from lamphouse.graph.transfer.lead_in import check_legible
from lamphouse.graph.transfer.made_of import made_of
from lamphouse.graph.transfer.notes import PassNotes
from lamphouse.graph.transfer.onlooker import Onlooker
from lamphouse.graph.transfer.pictures import Pictures
from lamphouse.graph.transfer.plan import Plan
from lamphouse.graph.transfer.record import record_of
from lamphouse.graph.transfer.sound import MasterSound
from lamphouse.graph.transfer.stages import Stages
from lamphouse.graph.transfer.stopping import Asked, never, stopping
from lamphouse.nodes.errors import BadInput, CheckFailed, Stopped, stem


def transfer(
    pass_: Plan,
    master_file: Path,
    step: Step,
    *,
    resume: bool = False,
    discard: bool = False,
    reads_back: bool = True,
    onlooker: Onlooker | None = None,
    is_stopped: Asked = never,
) -> Master:
    """Write the master of `pass_` at `master_file` and return it, finished, its record beside it.

    `step` is called with the frames written and the frames in all. Each frame is read back from the disk
    while the next are written, unless not `reads_back`; an `onlooker` sees both. The file appears under its
    name only when it is complete and was found good. What a pass leaves that ends early is kept: with
    `resume` the same pass goes on with it, with `discard` it is deleted first, with neither it is refused.
    Raises BadInput for media that cannot be read or written, and where a node of the chain is missing;
    Stopped after Ctrl-C and once `is_stopped`; CheckFailed where what comes back is not what was meant, or
    what the pass is made of changed during it.
    """
    way = UnderWay(master_file)
    refuse_over(pass_.opened, master_file, *way.names)
    pass_.opened.refuse_missing(pass_.without)
    with interrupts_told(way, pass_.delivery), alone(way), Grade(pass_.opened) as grade:
        _see_to_insert(way, is_asked=resume or discard)
        check_name(master_file, pass_.delivery)
        check_legible(pass_)
        made = made_of(pass_, grade)
        ready = left_or_nothing(way, pass_, made, resume=resume, discard=discard)
        grade.prepare(range(pass_.start, pass_.stop))
        with (
            pass_.opened.open_scan() as scan,
            stopping(f"Stopped at once; {kept_in(way, pass_.delivery)}.", is_stopped) as is_asked,
        ):
            with telling_what_is_kept(way, pass_.delivery):
                master = complete(
                    pass_,
                    way,
                    scan=scan,
                    grade=grade,
                    made=made,
                    ready=ready,
                    reads_back=reads_back,
                    onlooker=onlooker,
                    step=step,
                    is_asked=is_asked,
                )
            remove(way.earlier)
            _check_unchanged(way, made, made_of(pass_, grade))
            _save(way, record_of(pass_, grade, master, way.part, made))
            master.finish()
            way.discard()
    return master


def complete(
    pass_: Plan,
    way: UnderWay,
    *,
    scan: Scan,
    grade: Grade,
    made: MadeOf,
    ready: Ready,
    reads_back: bool,
    step: Step,
    is_asked: Asked,
    onlooker: Onlooker | None = None,
) -> Master:
    """Return the master of `pass_`, complete and read back under its working name, its pass record beside it.

    Where it ends early, what is done stays.
    """
    with (
        _begun(pass_, way, scan, made, ready) as master,
        _reading_back(pass_, way, master, ready, onlooker) if reads_back else nullcontext() as beside,
    ):
        master.seen_by = onlooker.sent if onlooker else None
        _write(pass_, scan, grade, master, ready=ready, beside=beside, step=step, is_asked=is_asked)
        master.complete()
        if beside is not None:
            master.found = beside.end(is_asked)
            master.note_read_back(master.found.frames)
    return master


def left_or_nothing(way: UnderWay, pass_: Plan, made: MadeOf, *, resume: bool, discard: bool) -> Ready:
    """Return what lies ready of a master, once what was left is dealt with as is asked."""
    if resume:
        refuse_resume(way, pass_.delivery)
        return left_ready(way, made, pass_.delivery.container)
    if discard:
        way.discard()
    refuse_left(way, pass_.delivery)
    return Ready()


@contextmanager
def alone(way: UnderWay) -> Iterator[None]:
    """Keep other passes to the same master out, and clear away what a killed one no longer needs."""
    with way.alone():
        sweep(record_path(way.master))
        way.tidy()
        yield


def _see_to_insert(way: UnderWay, *, is_asked: bool) -> None:
    """End what a killed insert had decided, and throw away what it had not, where that is asked."""
    if not os.path.lexists(way.insert):
        return
    if not is_asked:
        raise BadInput(
            f"{way.insert} is left from an insert that did not end; give that insert again, or clear it away "
            "with --discard."
        )
    coming = Coming(way)
    if not (os.path.lexists(way.master) and coming.settle()):
        coming.discard()


@contextmanager
def _begun(pass_: Plan, way: UnderWay, scan: Scan, made: MadeOf, ready: Ready) -> Iterator[Master]:
    """Yield the master at its beginning; what lies ready of it is beside it."""
    # The record comes first: killed in between, no master under way is without one.
    record = PassRecord(way.record, made, *ready.left) if can_resume(pass_.delivery) else None
    ready.make_room(way)
    try:
        with _master(pass_, way.master, scan, goes_on=way.part.is_dir()) as master:
            for run in ready.runs:
                if not master.can_keep(run.earlier.extradata):
                    raise BadInput(f"The encoder here is not the one that wrote {run.earlier.path}.")
            master.record = record
            yield master
    finally:
        if record is not None:
            record.close()
        way.tidy()


@contextmanager
def _reading_back(
    pass_: Plan, way: UnderWay, master: Master, ready: Ready, onlooker: Onlooker | None
) -> Iterator[Beside]:
    """Yield the read-back of the master under way."""
    master.meant.kept = ready.read_back
    comparison = Comparison(
        way.part,
        master.meant,
        rate=master.rate,
        raster=(master.shape.width, master.shape.height),
        named=lambda number: pass_.span.words(pass_.numbers[number]),
        advice="neither this disk nor the memory of this machine is to be trusted before they are tested",
    )
    container, watch = pass_.delivery.container, onlooker.came if onlooker else None
    with Beside(way, container, master.meant, comparison, watch=watch) as beside:
        yield beside


@contextmanager
def interrupts_told(way: UnderWay, delivery: Delivery) -> Iterator[None]:
    """Say what is kept where Ctrl-C comes before the first frame is begun, or once more at the very end."""
    try:
        yield
    except KeyboardInterrupt as error:
        if not way.left:
            raise
        raise Stopped(f"Stopped; {kept_in(way, delivery)}.") from error


@contextmanager
def telling_what_is_kept(way: UnderWay, delivery: Delivery) -> Iterator[None]:
    """Say what is kept where a pass ends early."""
    try:
        yield
    except (BadInput, CheckFailed, Stopped) as error:
        if not way.left:
            raise
        raise type(error)(f"{stem(error)}; {kept_in(way, delivery)}.") from error


def kept_in(way: UnderWay, delivery: Delivery) -> str:
    """Return where what is done is kept, and what can be done with it, as a clause."""
    return f"what is done is kept in {(way.left or [way.part])[0]}: {way_on(delivery)}"


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
        rate=pass_.span.rate,
        timecode=pass_.span.timecode(pass_.numbers.start),
        width=scan.width,
        height=scan.height,
        pixel_aspect=Fraction(pass_.reel.scan.pixel_aspect),
        reel=pass_.reel_name,
        goes_on=goes_on,
    )


def _write(
    pass_: Plan,
    scan: Scan,
    grade: Grade,
    master: Master,
    *,
    ready: Ready,
    beside: Beside | None,
    step: Step,
    is_asked: Asked,
) -> None:
    """Write every frame. When this returns or raises, no other thread is at work any more."""
    stages, notes, gaps = Stages(), PassNotes(), ready.gaps(pass_.frames)
    with (
        closing(ready.kept()) as kept,
        closing(MasterSound(pass_)) as sound,
        closing(Pictures(pass_, scan, grade, master.blank, stages=stages, notes=notes).all(gaps)) as pictures,
    ):

        def write(numbered: tuple[int, Blank | None]) -> None:
            number, filled = numbered
            with stages.during("encoding"):
                if filled is not None:
                    master.write_filled(filled)
                else:
                    master.keep(*next(kept))
                if sound.is_wanted:
                    block = sound.block(number)
                    notes.hear(number, block)
                    master.write_sound(block)
            if beside is not None:
                master.note_read_back(beside.written())
            step(number + 1, pass_.frames, stages.limit)

        write_behind(_until(is_asked, pictures, pass_.frames), write)
        cuts = zip(pass_.numbers, master.cuts, strict=True)
        master.notes = (*notes.sentences(), *cut_sentences(pass_.span, cuts))


def _until(
    is_asked: Asked, pictures: Iterable[Blank | None], frames: int
) -> Iterator[tuple[int, Blank | None]]:
    for number, picture in enumerate(pictures):
        if is_asked():
            raise Stopped(f"Stopped after {number} of {frames} frames.")
        yield number, picture
