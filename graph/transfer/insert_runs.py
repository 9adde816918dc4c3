"""Runs of frames made anew: each a small pass, into a movie or stills of its own, and read back."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av

from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.codes.encode_planes import Blank, Cut
from lamphouse.graph.media.master.decoded import Part, Picture, decoded_movie, decoded_stills, decoded_wave
from lamphouse.graph.media.master.master import Master, open_master
from lamphouse.graph.media.master.read_back import Comparison, ReadBack
from lamphouse.graph.media.master.stills_back import wave_of
from lamphouse.graph.media.master.stills_out import still_name
from lamphouse.graph.media.master.write_behind import write_behind
from lamphouse.graph.media.scan.scan import Scan
from lamphouse.graph.progress import Step
from lamphouse.graph.transfer.insert_plan import InsertPlan
from lamphouse.graph.transfer.notes import PassNotes
from lamphouse.graph.transfer.onlooker import Onlooker
from lamphouse.graph.transfer.pictures import Pictures
from lamphouse.graph.transfer.sound import MasterSound
from lamphouse.graph.transfer.stages import Stages

Go = Callable[[], None]  # raises Stopped after Ctrl-C


@dataclass(frozen=True, slots=True)
class Fresh:
    """A run of frames made anew: which, where they lie, what reading them back found, what was cut."""

    frames: range
    path: Path
    found: ReadBack
    cuts: Sequence[Cut]


class Runs:
    """Makes the runs of `plan_`, one after the other; with `sound` that beside them too."""

    def __init__(
        self,
        plan_: InsertPlan,
        scan: Scan,
        grade: Grade,
        sound: MasterSound | None,
        *,
        step: Step,
        go: Go,
        onlooker: Onlooker | None = None,
    ) -> None:
        self._plan, self._scan, self._grade, self._sound = plan_, scan, grade, sound
        self._step, self._go, self._onlooker = step, go, onlooker
        self._done, self._total = 0, sum(map(len, plan_.frames))
        self.notes = PassNotes()

    def made(self, frames: range, path: Path) -> Fresh:
        """Make `frames` at `path` and read them back. Raises CheckFailed, BadInput, and what `go` does."""
        part, notes = self._plan.part(frames), self.notes
        with self._begun(frames, path) as master:
            if (onlooker := self._onlooker) is not None:
                master.seen_by = lambda number, filled: onlooker.sent(frames[number], filled)
            pictures = Pictures(part, self._scan, self._grade, master.blank, stages=Stages(), notes=notes)
            with closing(pictures.all([range(part.frames)])) as filled:
                write_behind(filled, lambda blank: self._write(master, frames, blank))
            master.finish()
        return Fresh(frames, path, self._read_back(master, frames), master.cuts)

    def _begun(self, frames: range, path: Path) -> Master:
        whole = self._plan.whole
        return open_master(
            path,
            whole.delivery,
            rate=self._plan.rate,
            timecode=whole.span.timecode(frames.start),
            width=self._scan.width,
            height=self._scan.height,
            pixel_aspect=Fraction(whole.reel.scan.pixel_aspect),
            reel=whole.reel_name,
            first=frames.start,
        )

    def _write(self, master: Master, frames: range, filled: Blank | None) -> None:
        assert filled is not None
        self._go()
        number = frames[master.frames]
        master.write_filled(filled)
        if self._sound is not None:
            block = self._sound.block(number)
            self.notes.hear(number, block)
            master.write_sound(block)
        self._done += 1
        self._step(self._done, self._total)

    def _read_back(self, master: Master, frames: range) -> ReadBack:
        comparison = Comparison(
            master.path,
            master.meant,
            rate=master.rate,
            raster=(master.shape.width, master.shape.height),
            named=lambda number: self._plan.whole.span.words(frames[number]),
            advice=f"{self._plan.master} is as it was: test this disk and the memory of this machine",
        )
        try:
            for part in _parts(master, frames):
                self._go()
                if self._onlooker is not None and isinstance(part, Picture):
                    self._onlooker.came(frames[comparison.frames], part.codes)
                comparison.take(part)
        except (av.FFmpegError, OSError) as error:
            raise comparison.undecodable(error) from error
        return comparison.end()


def _parts(master: Master, frames: range) -> Iterator[Part]:
    if not master.path.is_dir():
        yield from decoded_movie(master.path)
        return
    container = master.delivery.container
    stills = (master.path / still_name(master.path.name, n, container) for n in frames)
    yield from decoded_stills(enumerate(stills))
    if (wave := wave_of(master.path)) is not None:
        yield from decoded_wave(wave)
