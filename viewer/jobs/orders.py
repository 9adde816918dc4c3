"""What the desk asks of a process of its own: pass, insert, proof, check, report, as commands do them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final, get_args

from lamphouse.graph.chain.installed import installed
from lamphouse.graph.check.findings import Findings, Weight, more_words
from lamphouse.graph.media.master.record import MasterRecord, load_record
from lamphouse.graph.reel.records import Delivery, Reel
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.transfer.wanted import Wanted
from lamphouse.viewer.jobs.said import Line, Outcome
from lamphouse.viewer.jobs.told import Told

WEIGHTS: Final[tuple[Weight, ...]] = get_args(Weight)
MOST: Final = 12  # digests that are shown of a master of many files


@dataclass(frozen=True, slots=True)
class OfReel:
    """What is asked for a reel as the desk holds it; what it names lies where its file says."""

    reel_file: Path
    reel: Reel

    @property
    def opened(self) -> OpenedReel:
        """The reel, with the nodes that are here."""
        return OpenedReel(self.reel_file, self.reel, installed())


@dataclass(frozen=True, slots=True)
class Transfer(OfReel):
    """A pass over the frames `first` to `stop`, half-open, as `lamphouse transfer` makes it."""

    delivery: Delivery
    first: int
    stop: int
    master: Path
    resume: bool = False
    discard: bool = False

    def run(self, told: Told) -> Outcome:
        """Make the master."""
        from lamphouse.graph.transfer.plan import plan
        from lamphouse.graph.transfer.transfer import transfer

        pass_ = plan(self.opened, self.delivery, self.first, self.stop)
        with told.stage(f"Transfer to {self.master.name}") as step:
            made = transfer(
                pass_,
                self.master,
                step,
                resume=self.resume,
                discard=self.discard,
                onlooker=told,
                is_stopped=told.is_asked,
            )
        for note in made.notes:
            told.note(note)
        kept = f", {made.kept} of them kept" if made.kept else ""
        what = Line(f"{self.master.name} is made, {made.frames} frames{kept}.")
        record = load_record(self.master)
        return Outcome(record.read_back, (what, *_digests(record)), made=self.master)


@dataclass(frozen=True, slots=True)
class Mend(OfReel):
    """Frames made anew in a finished master, as `lamphouse insert` does it."""

    master: Path
    wanted: Wanted
    keep: bool = False

    def run(self, told: Told) -> Outcome:
        """Make them."""
        from lamphouse.graph.transfer.insert import insert

        done = insert(
            self.opened,
            self.master,
            self.wanted,
            told.stage,
            keep=self.keep,
            onlooker=told,
            is_stopped=told.is_asked,
        )
        for note in done.notes:
            told.note(note)
        count, span = sum(map(len, done.plan.frames)), done.plan.whole.span
        if not count:
            return Outcome(f"No frame of {self.master.name} is stale; there is nothing to do.")
        lines = [
            Line(f"{span.words(frames.start)} and the {len(frames) - 1} after it.", frames.start)
            for frames in done.plan.frames
        ]
        kept = [Line(f"The old master is {done.kept.name}.")] if done.kept else []
        verdict = f"{count} of {span.frames} frames were made anew, read back and put in place."
        return Outcome(verdict, (*lines, *kept, *_digests(done.record)), made=self.master)


@dataclass(frozen=True, slots=True)
class Prove(OfReel):
    """A finished master held against its record and against the reel as it is now: `lamphouse verify`."""

    master: Path

    def run(self, told: Told) -> Outcome:
        """Decode it, make every frame again, and compare."""
        from lamphouse.graph.check.proof import prove

        found = prove(self.master, told.stage, told.is_asked, self.opened)
        verdict = f"{self.master.name} is what its record says and what the reel makes now."
        if found.count:
            verdict = f"{found.counted} found in {self.master.name}."
        return Outcome(verdict, _lines(found), is_good=not found.count)


@dataclass(frozen=True, slots=True)
class Check:
    """A finished master looked at as whoever receives it will, as `lamphouse check` does."""

    master: Path

    def run(self, told: Told) -> Outcome:
        """Decode it, and look for all that a check looks for."""
        from lamphouse.graph.check.check import check
        from lamphouse.graph.check.parts import PARTS
        from lamphouse.graph.check.settings import defaults
        from lamphouse.graph.check.several import summary
        from lamphouse.graph.check.subject import subject_of

        with told.stage(f"Check of {self.master.name}") as step:
            found = check(subject_of(self.master, defaults()), PARTS, step, told.is_asked)
        return Outcome(summary(self.master.name, found), _lines(found), is_good=not found.count)


@dataclass(frozen=True, slots=True)
class Report(OfReel):
    """The page of a finished master, as `lamphouse report` writes it, into `folder`."""

    master: Path
    folder: Path

    def run(self, told: Told) -> Outcome:
        """Write it."""
        from lamphouse.graph.handover.report import write_report

        with told.stage(f"Report of {self.master.name}"):
            page = write_report(self.folder, self.master, load_record(self.master), self.reel_file)
        return Outcome(f"{page} shows every shot before and after.", made=page)


def _lines(found: Findings) -> tuple[Line, ...]:
    """Return all that was found, what weighs most first, each with the worst of its frames."""
    lines = [Line(one.sentence, one.shown, one.weight) for one in (*found.faults, *found.others)]
    lines += [Line(text, weight="fault") for text in more_words(found.more, "faults")]
    lines += [Line(text, weight="caution") for text in more_words(found.more_others, "cautions")]
    lines += [Line(text) for text in found.said]
    return tuple(sorted(lines, key=lambda line: WEIGHTS.index(line.weight)))


def _digests(record: MasterRecord) -> Iterator[Line]:
    for name, digest in list(record.files.items())[:MOST]:
        yield Line(f"{name}  SHA-256 {digest}")
    if len(record.files) > MOST:
        yield Line(f"and {len(record.files) - MOST} more files, which are in its record")
