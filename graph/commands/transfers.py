"""The pass, and the demo that runs the whole job."""

from __future__ import annotations

import json
import time
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from lamphouse.graph.commands.options import Json
from lamphouse.nodes.errors import BadInput, CheckFailed, Stopped
from lamphouse.nodes.one_line import one_line

if TYPE_CHECKING:
    from lamphouse.graph.check.beside import BesidePass
    from lamphouse.graph.check.findings import Findings
    from lamphouse.graph.check.settings import Settings
    from lamphouse.graph.media.master.master import Master
    from lamphouse.graph.transfer.batch import Outcome
    from lamphouse.graph.transfer.plan import Plan


def demo(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="A new folder for the reel and its master.")],
    width: Annotated[
        int, typer.Option(metavar="PIXELS", help="Width of the invented scan; 96 is quick and shows little.")
    ] = 640,
    seed: Annotated[
        int | None,
        typer.Option(metavar="N", help="Another reel for each number: to be surveyed, with its truth."),
    ] = None,
) -> None:
    """Make the invented reel, transfer it, read it back, write its report."""
    from lamphouse.graph.demo.job import run_demo, run_seeded

    for line in run_demo(folder, width) if seed is None else run_seeded(folder, seed, width):
        typer.echo(line)


def transfer(
    output: Annotated[
        Path,
        typer.Option(
            "-o", "--output", metavar="MASTER", help="The master; of several reels, the folder for them."
        ),
    ],
    reel_files: Annotated[
        list[Path] | None,
        typer.Argument(metavar="REEL...", help="The reel, NAME.reel, or several, one after the other."),
    ] = None,
    reel_list: Annotated[
        Path | None, typer.Option("--list", metavar="FILE", help="A text file of reels, one on each line.")
    ] = None,
    delivery: Annotated[str, typer.Option(metavar="NAME", help="What it is made of.")] = "hd-ffv1",
    rate: Annotated[
        str | None, typer.Option(help="Frames a second of the master, such as 25; else the delivery's.")
    ] = None,
    scanning: Annotated[
        str | None, typer.Option(help="progressive, top-first or bottom-first; else the delivery's.")
    ] = None,
    cadence: Annotated[str | None, typer.Option(help="run, repeat, 2:2 or 2:3; else the delivery's.")] = None,
    shape: Annotated[
        str | None,
        typer.Option(help="What of the picture is seen: fit, fill or a part such as 14:9."),
    ] = None,
    pitch: Annotated[
        str | None,
        typer.Option(help="Of sound that runs at another speed: follows or kept; else the delivery's."),
    ] = None,
    start: Annotated[str | None, typer.Option("--from", metavar="AT", help="First frame.")] = None,
    stop: Annotated[str | None, typer.Option("--to", metavar="AT", help="The frame after the last.")] = None,
    resume: Annotated[
        bool, typer.Option("--resume", help="Resume a pass that was cut off; of several reels, always done.")
    ] = False,
    discard: Annotated[
        bool, typer.Option("--discard", help="Discard what such a pass has left, and start anew.")
    ] = False,
    read_back: Annotated[
        bool, typer.Option("--read-back/--no-read-back", help="Decode each frame again from the disk.")
    ] = True,
    skip_missing: Annotated[
        bool, typer.Option("--skip-missing", help="Skip nodes whose plug-in is missing.")
    ] = False,
    farm: Annotated[
        str,
        typer.Option(
            metavar="ADDRESS",
            help="Segments on the workers of this dask.distributed scheduler; local:4 starts four here.",
        ),
    ] = "",
    check: Annotated[
        bool, typer.Option("--check", help="Check it beside the pass, as `lamphouse check` does.")
    ] = False,
    check_only: Annotated[
        list[str] | None,
        typer.Option(metavar="PART", help="Only this part of that check; may be repeated."),
    ] = None,
    check_set: Annotated[
        list[str] | None,
        typer.Option(
            metavar="NAME=VALUE",
            help="A setting of that check (`lamphouse check --settings` shows them); may be repeated.",
        ),
    ] = None,
    as_json: Json = False,
) -> None:
    """Transfer the reel in one pass, or several reels unattended."""
    from lamphouse.graph.transfer.batch import check_batch, listed_reels, run_batch
    from lamphouse.graph.transfer.notes import CAUTION

    if resume and discard:
        raise BadInput("--resume keeps what a pass has left and --discard does not; give one of them.")
    reels = [*(reel_files or []), *(listed_reels(reel_list) if reel_list else [])]
    if not reels:
        raise BadInput("There is no reel to transfer; give one, or a list of them with --list.")
    given = {"rate": rate, "scanning": scanning, "cadence": cadence, "shape": shape, "pitch": pitch}
    checks = _checks(check_only or (), check_set or ()) if check or check_only or check_set else None
    asked = _Asked(delivery, given, start, stop, resume, discard, read_back, skip_missing, farm, checks)
    if len(reels) == 1 and reel_list is None:
        outcomes = [asked.one(reels[0], output, is_quiet=as_json)]
    else:
        check_batch(reels, output)
        outcomes = list(run_batch(reels, lambda reel: asked.unattended(reel, output, is_quiet=as_json)))
        if not as_json:
            for outcome in outcomes:
                typer.echo(f"{one_line(outcome.reel)}: {outcome.sentence}")
    if as_json:
        typer.echo(json.dumps([asdict(outcome) for outcome in outcomes], indent=2))
    elif checks is None:  # which has cautions of its own
        typer.echo(CAUTION)
    _tell_whether_all_went_well(outcomes)


def _checks(only: Sequence[str], set_: Sequence[str]) -> tuple[frozenset[str], Settings]:
    from lamphouse.graph.check.parts import parts_of
    from lamphouse.graph.check.settings import settings_of

    return parts_of(only), settings_of(set_)


def _tell_whether_all_went_well(outcomes: Sequence[Outcome]) -> None:
    good = sum(outcome.is_good for outcome in outcomes)
    of_all = f"{good} of {len(outcomes)} masters are finished"
    if any(outcome.end == "stopped" for outcome in outcomes):
        raise Stopped(f"Stopped; {of_all}, and the same command goes on with the rest.")
    if good < len(outcomes):
        raise CheckFailed(f"{of_all}; put right what is said of the others and give the same command again.")
    if faulty := [outcome.master for outcome in outcomes if outcome.faults]:
        raise CheckFailed(f"The check found faults in {', '.join(faulty)}; see to each before it goes out.")


@dataclass(frozen=True, slots=True)
class _Asked:
    """What a person asks of a pass over whichever reel."""

    delivery: str
    given: Mapping[str, str | None]
    start: str | None
    stop: str | None
    resume: bool
    discard: bool
    read_back: bool
    skip_missing: bool
    farm: str
    checks: tuple[frozenset[str], Settings] | None  # the parts of a check beside it, and by what

    def one(self, reel: Path, master: Path, *, is_quiet: bool) -> Outcome:
        return self._run(reel, self._plan(reel), master, self.resume, self.discard, is_quiet)

    def unattended(self, reel: Path, folder: Path, *, is_quiet: bool) -> Outcome:
        from lamphouse.graph.media.master.containers import CONTAINERS
        from lamphouse.graph.transfer.batch import finished_before, is_finished, way_to_begin

        pass_ = self._plan(reel)
        master = folder / f"{reel.stem}{CONTAINERS[pass_.delivery.container].suffix}"
        if is_finished(pass_, master):
            return finished_before(reel, pass_, master)
        resume, discard = way_to_begin(pass_, master, discard=self.discard)
        return self._run(reel, pass_, master, resume, discard, is_quiet)

    def _plan(self, reel_file: Path) -> Plan:
        from lamphouse.graph.media.master.delivery import as_asked
        from lamphouse.graph.media.master.delivery import delivery as delivery_of
        from lamphouse.graph.reel.counters import counter
        from lamphouse.graph.reel_files.opened import open_reel
        from lamphouse.graph.transfer.plan import plan

        opened = open_reel(reel_file)
        counters = counter(opened.reel)
        first = counters.find(self.start) if self.start else 0
        last = counters.find(self.stop, end=True) if self.stop else opened.reel.scan.frames
        without = tuple(ref.name for ref in opened.missing) if self.skip_missing else ()
        opened.refuse_missing(without, "skip it with --skip-missing")
        named = delivery_of(self.delivery, opened.reel.deliveries)
        delivery = as_asked(named, f"delivery {self.delivery}", self.given)
        return plan(opened, delivery, first, last, without=without)

    def _run(
        self, reel: Path, pass_: Plan, output: Path, resume: bool, discard: bool, is_quiet: bool
    ) -> Outcome:
        from lamphouse.graph.commands.notes import say_notes
        from lamphouse.graph.media.master.delivery import asked_of, is_preset
        from lamphouse.graph.progress import progress
        from lamphouse.graph.transfer.batch import made
        from lamphouse.graph.transfer.transfer import transfer as run

        if not is_quiet and (any(self.given.values()) or not is_preset(self.delivery)):
            typer.echo(f"Delivery {self.delivery}: {asked_of(pass_.delivery)}.")
        if pass_.span.speed:
            say_notes((pass_.span.speed,))
        begun = time.monotonic()
        if self.farm:
            self._in_segments(pass_, output, resume, discard)
            resume, discard = True, False
        with progress(f"Transfer to {output.name}") as step:
            watching = self._watching(pass_, output)
            master = run(
                pass_,
                output,
                step,
                resume=resume,
                discard=discard,
                reads_back=self.read_back,
                onlooker=watching,
            )
        say_notes(master.notes)
        if not is_quiet:
            _say(pass_, master, self.delivery, time.monotonic() - begun)
        return made(reel, master, _told(watching.end(), is_quiet) if watching else 0)

    def _watching(self, pass_: Plan, output: Path) -> BesidePass | None:
        from lamphouse.graph.check.beside import BesidePass

        if self.checks is None:
            return None
        parts, settings = self.checks
        return BesidePass(pass_.span, output, settings, parts, reads_back=self.read_back)

    def _in_segments(self, pass_: Plan, output: Path, resume: bool, discard: bool) -> None:
        from lamphouse.graph.progress import progress
        from lamphouse.graph.transfer.farm.segments import make_segments

        with progress(f"Segments of {output.name}") as step:
            make_segments(
                pass_, output, self.farm, step, resume=resume, discard=discard, reads_back=self.read_back
            )


def _told(found: Findings, is_quiet: bool) -> int:
    """Say what a check beside the pass has found, and return how many faults that is."""
    from lamphouse.graph.check.check import GUIDANCE

    for line in () if is_quiet else (*found.lines(), GUIDANCE):
        typer.echo(line)
    return found.count


def _say(pass_: Plan, master: Master, delivery: str, seconds: float) -> None:
    kept = f", {master.kept} of them kept" if master.kept else ""
    lacking = f", without {', '.join(pass_.without)}" if pass_.without else ""
    typer.echo(f"{master.path}: {pass_.frames} frames{kept}, as {delivery}{lacking}.")
    if master.found is not None:
        typer.echo(f"Read-back: {master.found.sentence}")
        typer.echo(f"It was at work for {master.found.seconds:.0f} of the {seconds:.0f} s of the pass.")
