"""The survey on the command line: what was found, in a table, and written when that is asked for."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final, cast

import typer

from lamphouse.graph.commands.options import Json, ReelFile
from lamphouse.nodes.errors import BadInput, near_names

if TYPE_CHECKING:
    from lamphouse.graph.media.statistics.statistics import Statistics
    from lamphouse.graph.reel.records import Reel
    from lamphouse.graph.reel_files.opened import OpenedReel
    from lamphouse.graph.survey.proposal import Kind, Proposal
    from lamphouse.graph.survey.survey import Survey

LAST_WORDS: Final = "Stopped at once; what was measured is kept."


def survey(
    reel_file: ReelFile,
    write: Annotated[
        str | None,
        typer.Option(metavar="KINDS", help="Write what was found of these kinds, or of all."),
    ] = None,
    only: Annotated[
        str | None, typer.Option(metavar="KINDS", help="Look for these kinds alone, and write no others.")
    ] = None,
    sure: Annotated[bool, typer.Option("--sure", help="Leave out what is not sure.")] = False,
    margin: Annotated[
        float,
        typer.Option(min=0.2, max=5.0, help="How far a change of shot must stand out; more finds fewer."),
    ] = 1.0,
    pictures: Annotated[
        Path | None, typer.Option(metavar="DIR", help="Write a picture of each, before and after.")
    ] = None,
    shots: Annotated[
        bool, typer.Option("--shots", help="Print each shot instead, how much it flickers and moves.")
    ] = False,
    as_json: Json = False,
) -> None:
    """Measure the scan; propose cues, tracks and the like.

    KINDS are marks, cues, balance, transitions, faults, flicker and steadiness, with commas between them.
    """
    from lamphouse.graph.reel_files.opened import open_reel
    from lamphouse.graph.survey.survey import survey as look_through

    wanted, written = _kinds(only, "--only"), _kinds(write, "--write") if write else ()
    opened = open_reel(reel_file)
    found = look_through(opened, _statistics(opened), margin=margin, only=wanted)
    proposals = tuple(each for each in found.proposals if each.is_sure or not sure)
    if pictures is not None:
        from lamphouse.graph.survey.pictures import write_pictures

        write_pictures(opened, proposals, pictures)
    if written:
        _write(reel_file, [each for each in proposals if each.kind in written])
    if as_json:
        _as_json(opened.reel, proposals, found)
    else:
        _tell(opened.reel, proposals, found, shots=shots)


def _kinds(text: str | None, option: str) -> tuple[Kind, ...]:
    from lamphouse.graph.survey.proposal import KINDS

    if text in (None, "all"):
        return KINDS
    kinds = tuple(word.strip() for word in str(text).split(","))
    for kind in kinds:
        if kind not in KINDS:
            raise BadInput(f"{option} {kind} is no kind of proposal{near_names(kind, KINDS)}; see --help.")
    return cast("tuple[Kind, ...]", kinds)


def _statistics(opened: OpenedReel) -> Statistics:
    from lamphouse.graph.media.statistics.kept import KeptStatistics
    from lamphouse.graph.media.statistics.make import statistics_of
    from lamphouse.graph.progress import progress
    from lamphouse.graph.transfer.stopping import stopping

    kept = KeptStatistics(opened.reel.scan, opened.scan_path)
    if (found := kept.statistics()) is not None:
        return found
    with progress("Measuring") as step, stopping(LAST_WORDS) as stopped:
        return statistics_of(kept, opened.open_scan, stopped=stopped, said=step)


def _write(reel_file: Path, proposals: list[Proposal]) -> None:
    """Write what the reel takes, and say of the rest why it does not."""
    from lamphouse.graph.commands.notes import say_notes
    from lamphouse.graph.reel.counters import counter
    from lamphouse.graph.reel_files.opened import change_reel
    from lamphouse.graph.survey.take import Taken, take_each
    from lamphouse.graph.survey.words import left_text

    taken: list[Taken] = []

    def edit(opened: OpenedReel) -> Reel:
        taken.append(take_each(opened, [each for each in proposals if not each.is_idle]))
        return taken[-1].reel

    counters = counter(change_reel(reel_file, edit).reel)
    say_notes(left_text(left, counters) for left in taken[-1].left)


def _as_json(reel: Reel, proposals: tuple[Proposal, ...], found: Survey) -> None:
    import json
    from dataclasses import asdict

    from lamphouse.graph.files.record import every_field
    from lamphouse.graph.reel.counters import counter

    counters = counter(reel)
    rows = [asdict(counters.readings(each.frame)) | every_field(each) for each in proposals]
    shots = [asdict(counters.readings(size.shot.first)) | size.amounts for size in found.sizes]
    typer.echo(json.dumps({"frames": reel.scan.frames, "shots": shots, "proposals": rows}, indent=2))


def _tell(reel: Reel, proposals: tuple[Proposal, ...], found: Survey, *, shots: bool) -> None:
    from lamphouse.graph.reel.counters import counter
    from lamphouse.graph.survey.words import line, shot_line, summary

    counters = counter(reel)
    told = (line(each, counters) for each in proposals)
    if shots:
        told = (shot_line(each, counters, reel.scan.height) for each in found.sizes)
    for each in told:
        typer.echo(each)
    typer.echo(summary(proposals, len(found.shots)))
