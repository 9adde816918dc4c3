"""The cue list shown, written as a list for other programs, and lists of theirs brought in."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, cast

import typer

from lamphouse.graph.commands.options import Json, ReelFile
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.one_line import one_line

if TYPE_CHECKING:
    from lamphouse.graph.edits.arrivals import By, Taken
    from lamphouse.graph.reel.counters import Counter
    from lamphouse.graph.reel.records import Cue, Reel
    from lamphouse.graph.reel_files.opened import OpenedReel


def cues(
    reel_file: ReelFile,
    output: Annotated[
        Path | None,
        typer.Option(
            "-o",
            "--output",
            metavar="FILE",
            help="Write its shots as a list: an event list .edl, a timeline .otio, or CDLs .ccc, .cdl.",
        ),
    ] = None,
    master: Annotated[
        Path | None,
        typer.Option(metavar="MASTER", help="With -o: the record times and cues of this finished master."),
    ] = None,
    fit: Annotated[
        bool, typer.Option("--fit", help="With -o: the nearest CDL for cues that are not exactly one.")
    ] = False,
    list_file: Annotated[
        Path | None,
        typer.Option(
            "--import",
            metavar="FILE",
            help="Take cues, CDLs and marks from an .edl, .otio, .ccc, .cdl or .cc; what stands is kept.",
        ),
    ] = None,
    by: Annotated[
        str | None,
        typer.Option(
            metavar="TIMES",
            help="With --import: record or source times; those that fit more shots if not given.",
        ),
    ] = None,
    source: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="With --import: what the list calls the scan, for source times."),
    ] = None,
    dry: Annotated[bool, typer.Option("--dry", help="Say what would be taken, and do nothing.")] = False,
    as_json: Json = False,
) -> None:
    """Show the cue list; write it for other programs, or take theirs."""
    from lamphouse.graph.commands.notes import note_missing
    from lamphouse.graph.reel_files.opened import open_reel

    _refuse_idle(
        {"--master": master is not None, "--fit": fit},
        {"--by": by is not None, "--source": source is not None, "--dry": dry},
        is_written=output is not None,
        is_taken=list_file is not None,
    )
    if by == "record" and source is not None:
        raise BadInput("--source is for source times; leave it out, or give --by source.")
    if list_file is not None:
        _take_list(reel_file, list_file, _times(by), source, dry=dry, as_json=as_json)
        return
    opened = open_reel(reel_file)
    note_missing(opened)
    if output is not None:
        _write_list(opened, output, master, fit=fit)
    elif as_json:
        _print_json(opened.reel)
    else:
        _print(opened.reel)


def _refuse_idle(out: dict[str, bool], taking: dict[str, bool], *, is_written: bool, is_taken: bool) -> None:
    """Raise BadInput for options that do nothing without another, and for both ways at once."""
    if is_written and is_taken:
        raise BadInput("A list is either written, by -o, or taken, by --import; give one of the two.")
    for options, is_given, needed in ((out, is_written, "-o"), (taking, is_taken, "--import")):
        if (idle := [name for name, is_on in options.items() if is_on]) and not is_given:
            raise BadInput(f"{idle[0]} goes with {needed} FILE; give that, or leave it out.")


def _times(text: str | None) -> By | None:
    if text not in (None, "record", "source"):
        raise BadInput(f"--by {text} is no kind of times; give record or source.")
    return cast("By | None", text)


def _write_list(opened: OpenedReel, output: Path, master: Path | None, *, fit: bool) -> None:
    from lamphouse.graph.commands.notes import say_notes
    from lamphouse.graph.handover.lists.leave import write_list
    from lamphouse.graph.media.master.record import load_record

    left = write_list(opened, output, None if master is None else load_record(master), fit=fit)
    say_notes(left.notes)
    typer.echo(left.sentence)


def _take_list(
    reel_file: Path, list_file: Path, by: By | None, source: str | None, *, dry: bool, as_json: bool
) -> None:
    from lamphouse.graph.handover.lists.arrive import take_list
    from lamphouse.graph.reel_files.opened import change_reel, open_reel

    done: list[Taken] = []

    def edit(opened: OpenedReel) -> Reel:
        done.append(take_list(opened, list_file, by, source))
        return done[-1].reel

    if dry:
        edit(open_reel(reel_file))
    else:
        change_reel(reel_file, edit)
    _tell(done[-1], as_json=as_json)


def _tell(taken: Taken, *, as_json: bool) -> None:
    import json

    from lamphouse.graph.handover.lists.arrive import left_lines, taken_lines

    hint = f" (--by {'source' if taken.by == 'record' else 'record'} takes the others)"
    lines: dict[str, Any] = {"taken": list(taken_lines(taken, hint)), "left": list(left_lines(taken))}
    if as_json:
        typer.echo(json.dumps(lines, indent=2))
        return
    for line in (*lines["taken"], *lines["left"]):
        typer.echo(line)


def cue_line(number: int, cue: Cue, counters: Counter, width: int = 0) -> str:
    """Return a cue in a line: number, place in the three readings, name, how it begins, what it sets."""
    from lamphouse.graph.cues.words import beginning_text, settings_text

    place = counters.readings(cue.frame)
    words = f"{one_line(cue.name):<{width}}  {beginning_text(cue)}  {settings_text(cue)}"
    return f"{number:>4}  {place.columns}  {words}".rstrip()


def _print(reel: Reel) -> None:
    from lamphouse.graph.reel.counters import counter

    counters = counter(reel)
    longest = max((len(one_line(cue.name)) for cue in reel.cues), default=0)
    for number, cue in enumerate(reel.cues, 1):
        typer.echo(cue_line(number, cue, counters, longest))
    if not reel.cues:
        typer.echo("No cues yet; set the first with `lamphouse cue`.")


def _print_json(reel: Reel) -> None:
    import json
    from dataclasses import asdict

    from lamphouse.graph.files.record import every_field
    from lamphouse.graph.reel.counters import counter

    counters = counter(reel)
    rows = [
        {"number": number} | asdict(counters.readings(cue.frame)) | every_field(cue)
        for number, cue in enumerate(reel.cues, 1)
    ]
    typer.echo(json.dumps(rows, indent=2))
