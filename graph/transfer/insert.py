"""Frames made anew in a finished master, every other one untouched.

New frames are a small pass of their own for each run of them, read back like any. A new movie is then woven
of the old packets and the new; of numbered stills only those files are others. What takes its place, and
when, is `coming.py`'s.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, closing, contextmanager, nullcontext
from dataclasses import dataclass
from fractions import Fraction
from itertools import repeat
from pathlib import Path

import av
import msgspec

from lamphouse.graph.files.whole_file import sweep
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.codes.raster import Shape, aspect_of, raster_of
from lamphouse.graph.media.master.cloth import Cloth, Piece
from lamphouse.graph.media.master.coming import Coming, kept_name
from lamphouse.graph.media.master.events import history, of_insert
from lamphouse.graph.media.master.read_back import verdict
from lamphouse.graph.media.master.record import Insert, Made, MasterRecord, SoundSums, record_path
from lamphouse.graph.media.master.under_way import UnderWay
from lamphouse.graph.media.master.weave import check_woven, weave
from lamphouse.graph.progress import Step
from lamphouse.graph.reel.store import stored_path
from lamphouse.graph.reel_files.named import refuse_over
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.transfer.cuts import cut_sentences
from lamphouse.graph.transfer.insert_plan import InsertPlan, plan_insert
from lamphouse.graph.transfer.insert_runs import Fresh, Go, Runs
from lamphouse.graph.transfer.insert_sound import new_wave, sums_of
from lamphouse.graph.transfer.onlooker import Onlooker
from lamphouse.graph.transfer.record import made_now, sha256_of
from lamphouse.graph.transfer.sound import MasterSound, beside
from lamphouse.graph.transfer.stopping import Asked, never, stopping
from lamphouse.graph.transfer.wanted import Wanted, stale_frames
from lamphouse.nodes.errors import BadInput, Stopped

Stage = Callable[[str], AbstractContextManager[Step]]  # shows how far a stage of long work has come


@dataclass(frozen=True, slots=True)
class Inserted:
    """What an insert did: `plan` says which frames, `record` is the new one, `kept` where the old master is.

    `ended` says that an earlier insert, which had been cut off as it took its place, was ended first.
    """

    plan: InsertPlan
    record: MasterRecord
    kept: Path | None
    ended: bool
    notes: tuple[str, ...] = ()


def insert(
    opened: OpenedReel,
    master_file: Path,
    wanted: Wanted,
    stage: Stage,
    *,
    keep: bool = False,
    sound: bool = False,
    onlooker: Onlooker | None = None,
    is_stopped: Asked = never,
) -> Inserted:
    """Make the frames that are `wanted` anew in a finished master, and its record with it.

    With `sound` the sound beside them too; with `keep` the old master stays under another name; an `onlooker`
    sees new frames. Until the new master takes its place, in one step, nothing of the old one is touched,
    whatever goes wrong. Raises BadInput where that master cannot be mended so, and by what it can;
    CheckFailed where what comes back is not what was meant; Stopped after Ctrl-C and once `is_stopped`.
    """
    way = UnderWay(master_file)
    refuse_over(opened, master_file, *way.names)
    with way.alone(), Grade(opened) as grade:
        sweep(record_path(way.master))
        coming = Coming(way)
        ended = coming.settle()
        plan_ = plan_insert(opened, master_file, wanted, grade, sound=sound)
        if not plan_.frames:
            return Inserted(plan_, plan_.record, None, ended)
        with (
            _begun(coming),
            stopping(f"Stopped at once; {master_file} is as it was.", is_stopped) as is_asked,
        ):
            go = _asking(is_asked, master_file)
            made, notes = _made(plan_, grade, coming, stage, go=go, onlooker=onlooker)
            _write_files(plan_, made, coming, stage, go)
            record = _record(plan_, made, grade, coming, notes)
            cuts = (pair for fresh in made for pair in zip(fresh.frames, fresh.cuts, strict=True))
            notes = (*notes, *cut_sentences(plan_.whole.span, cuts), *_unchecked(plan_))
            if keep:
                coming.keep_old(plan_.record)
            plan_.check_unchanged()
            coming.commit(record)
    return Inserted(plan_, record, kept_name(master_file, plan_.record) if keep else None, ended, notes)


@contextmanager
def _begun(coming: Coming) -> Iterator[None]:
    coming.begin()
    try:
        yield
    except (av.FFmpegError, OSError) as error:
        coming.abandon()
        reason = error.strerror or error
        raise BadInput(
            f"The new frames cannot be written ({reason}) and the master is as it was; make room on its disk."
        ) from error
    except BaseException:
        coming.abandon()
        raise


def _asking(is_asked: Asked, master: Path) -> Go:
    def go() -> None:
        if is_asked():
            raise Stopped(f"Stopped; {master} is as it was.")

    return go


def _made(
    plan_: InsertPlan, grade: Grade, coming: Coming, stage: Stage, *, go: Go, onlooker: Onlooker | None
) -> tuple[list[Fresh], tuple[str, ...]]:
    """Make every run of new frames and read it back."""
    grade.prepare(range(plan_.whole.start, plan_.whole.stop))
    with (
        plan_.whole.opened.open_scan() as scan,
        closing(MasterSound(plan_.whole)) if plan_.sound else nullcontext() as sound,
        stage(f"New frames of {plan_.master.name}") as step,
    ):
        run = Runs(plan_, scan, grade, sound, step=step, go=go, onlooker=onlooker)
        made = [run.made(frames, coming.piece(number)) for number, frames in enumerate(plan_.frames)]
    return made, run.notes.sentences()


def _write_files(plan_: InsertPlan, made: Sequence[Fresh], coming: Coming, stage: Stage, go: Go) -> None:
    """Write every file of the master that is to be another."""
    if not plan_.master.is_dir():
        _weave(plan_, made, coming.file(plan_.master.name), stage, go)
        return
    for fresh in made:
        for path in sorted(fresh.path.iterdir()):
            if path.suffix != ".wav":
                path.rename(coming.file(path.name))
    if plan_.sound:
        name = f"{plan_.master.name}.wav"
        waves = [(fresh.frames, fresh.path / name) for fresh in made]
        new_wave(plan_.master / name, waves, plan_.rate, coming.file(name))


def _weave(plan_: InsertPlan, made: Sequence[Fresh], new: Path, stage: Stage, go: Go) -> None:
    whole = plan_.whole
    scan = whole.reel.scan
    aspect = aspect_of(whole.delivery, Fraction(scan.pixel_aspect))
    shape = Shape(*raster_of(whole.delivery, scan.width, scan.height), aspect)
    pieces = [
        Piece(fresh.frames, fresh.path, plan_.times(fresh.frames), _samples(plan_, fresh.frames))
        for fresh in made
    ]
    cloth = Cloth(plan_.master, pieces, whole.delivery, plan_.rate, shape)
    for what, work in (("Joining", weave), ("Read-back of", check_woven)):
        with stage(f"{what} {plan_.master.name}") as step:

            def gone(frames: int, step: Step = step) -> None:
                go()
                step(frames, whole.frames)

            work(cloth, new, gone)


def _samples(plan_: InsertPlan, frames: range) -> range | None:
    """Return which samples of the master are beside `frames`, where these are made anew too."""
    sound = plan_.record.sound if plan_.sound else None
    if sound is None:
        return None
    return range(*(beside(plan_.whole.span, at, sound.rate) for at in (frames.start, frames.stop)))


def _record(
    plan_: InsertPlan, made: Sequence[Fresh], grade: Grade, coming: Coming, notes: tuple[str, ...]
) -> MasterRecord:
    old, now, span = plan_.record, made_now(), plan_.whole.span
    pictures, distances, grades = list(old.pictures), list(old.distances), list(old.grades)
    cuts = list(old.cuts or repeat((0, 0), span.frames))
    for fresh in made:
        cuts[fresh.frames.start : fresh.frames.stop] = fresh.cuts
        _replace(pictures, fresh.frames, fresh.found.pictures)
        _replace(distances, fresh.frames, fresh.found.distances)
        shown = (span.shown(number) for number in fresh.frames)
        _replace(grades, fresh.frames, [grade.checksums(it, plan_.whole.colour) for it in shown])
    files = {name: sha256_of(coming.file(name)) for name in coming.names}
    inserts, read_back = [_insert(plan_, fresh.frames, now) for fresh in made], _verdict(old, distances)
    record = msgspec.structs.replace(
        old,
        reel_file=stored_path(plan_.master, plan_.whole.opened.file),
        reel=plan_.whole.reel,
        read_back=read_back,
        files={**old.files, **files} if plan_.master.is_dir() else files,
        notes=(*_other_notes(old, notes), *cut_sentences(span, enumerate(cuts))),
        inserts=(*old.inserts, *inserts),
        events=(*history(old), *(event for insert in inserts for event in of_insert(insert, read_back))),
        sound=_sound(plan_, coming) if plan_.sound else old.sound,
        distances=tuple(distances),
        cuts=tuple(cuts) if any(map(any, cuts)) else (),
        grades=tuple(grades),
        pictures=tuple(pictures),
        checks=None,
    )
    if next(stale_frames(record, plan_.whole.span, grade), None) is None:
        record = msgspec.structs.replace(record, made_of=plan_.made_of_all)
    return record


def _unchecked(plan_: InsertPlan) -> Iterator[str]:
    if plan_.record.checks is not None:
        yield (
            f"The record of {plan_.master.name} no longer keeps what a check beside its pass had found, for "
            "some of its frames are others now; check it again."
        )


def _other_notes(old: MasterRecord, notes: Sequence[str]) -> Iterator[str]:
    """Yield what there was to say of the master and of its new frames, but of what is cut."""
    of_cuts = cut_sentences(old.span, enumerate(old.cuts))
    yield from dict.fromkeys(note for note in (*old.notes, *notes) if note not in of_cuts)


def _sound(plan_: InsertPlan, coming: Coming) -> SoundSums | None:
    name = plan_.master.name
    return plan_.record.sound and sums_of(
        coming.file(f"{name}.wav" if plan_.master.is_dir() else name), plan_.record.sound
    )


def _verdict(old: MasterRecord, distances: Sequence[float]) -> str:
    worst = max(distances, default=0.0)
    return verdict(old.span.frames, not distances, worst) if old.read_back else ""


def _replace(of_all: list[str] | list[float], frames: range, new: Sequence[str] | Sequence[float]) -> None:
    """Put in what is known of the new frames, where it was known of the old ones."""
    if of_all:
        of_all[frames.start : frames.stop] = new  # type: ignore[assignment]  # strings to strings


def _insert(plan_: InsertPlan, frames: range, now: Made) -> Insert:
    return Insert(first=frames.start, stop=frames.stop, why=plan_.why, made=now)
