"""New frames into a finished master."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from lamphouse.graph.commands.options import Json, ReelFile

if TYPE_CHECKING:
    from lamphouse.graph.transfer.insert_plan import InsertPlan
    from lamphouse.graph.transfer.wanted import Wanted


def insert(
    reel_file: ReelFile,
    master: Annotated[
        Path, typer.Argument(metavar="MASTER", help="The finished master, with its record beside it.")
    ],
    cue: Annotated[
        str | None,
        typer.Option(
            metavar="NAME",
            help="The frames made of this cue's settings: from where its transition begins, or its cut, "
            "up to the next cue, with the transition into that.",
        ),
    ] = None,
    start: Annotated[str | None, typer.Option("--from", metavar="AT", help="First frame.")] = None,
    stop: Annotated[str | None, typer.Option("--to", metavar="AT", help="The frame after the last.")] = None,
    stale: Annotated[
        bool, typer.Option("--stale", help="Every frame whose settings, LUTs or plug-ins have changed.")
    ] = False,
    sound: Annotated[bool, typer.Option("--sound", help="The sound beside these frames too.")] = False,
    keep: Annotated[
        bool, typer.Option("--keep", help="Keep the old master, as NAME.before-insert-1 and so on.")
    ] = False,
    dry: Annotated[bool, typer.Option("--dry", help="Say what would be done, and do nothing.")] = False,
    as_json: Json = False,
) -> None:
    """Make some frames of a finished master anew, and touch no other."""
    from lamphouse.graph.commands.notes import say_notes
    from lamphouse.graph.grade.grade import Grade
    from lamphouse.graph.progress import progress
    from lamphouse.graph.reel_files.opened import open_reel
    from lamphouse.graph.transfer.insert import insert as run
    from lamphouse.graph.transfer.insert_plan import plan_insert

    wanted = _wanted(cue, start, stop, stale=stale)
    opened = open_reel(reel_file)
    if dry:
        with Grade(opened) as grade:
            _say(plan_insert(opened, master, wanted, grade, sound=sound), "would be made anew", as_json)
        return
    done = run(opened, master, wanted, progress, keep=keep, sound=sound)
    if done.ended:
        say_notes([f"An insert into {master} that had been cut off as it took its place was ended first."])
    say_notes(done.notes)
    _say(done.plan, "made anew, read back and put in place", as_json, done.kept)


def _wanted(cue: str | None, start: str | None, stop: str | None, *, stale: bool) -> Wanted:
    from lamphouse.graph.transfer.wanted import Wanted
    from lamphouse.nodes.errors import BadInput

    ways = (cue is not None, start is not None or stop is not None, stale)
    if sum(ways) != 1 or (start is None) != (stop is None):
        raise BadInput("Which frames is said in one way: --cue NAME, or --from AT --to AT, or --stale.")
    return Wanted(cue, start, stop)


def _say(plan: InsertPlan, done: str, as_json: bool, kept: Path | None = None) -> None:
    rows = [_row(plan, frames) for frames in plan.frames]
    if as_json:
        import json

        answer = {"master": str(plan.master), "inserts": rows, "kept": None if kept is None else str(kept)}
        typer.echo(json.dumps(answer, indent=2))
        return
    for row in rows:
        cues = f"cue{'s' * (len(row['cues']) > 1)} {', '.join(row['cues'])}"
        typer.echo(f"{row['timecode']}  {row['first']:>6} to {row['stop'] - 1:>6}  {cues}")
    count = sum(map(len, plan.frames))
    if not count:
        typer.echo(f"{plan.master}: no frame is stale; there is nothing to do.")
        return
    of = f"{count} of {plan.whole.frames} frames"
    typer.echo(f"{plan.master}: {of} {done}{', with their sound' if plan.sound else ''}.")
    if kept is not None:
        typer.echo(f"The old master is {kept}.")


def _row(plan: InsertPlan, frames: range) -> dict[str, Any]:
    from lamphouse.graph.transfer.wanted import cue_names

    span = plan.whole.span
    return {
        "first": frames.start,
        "stop": frames.stop,
        "timecode": span.timecode(frames.start),
        "cues": list(cue_names(span, frames)),
    }
