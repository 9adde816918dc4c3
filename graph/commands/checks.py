"""Finished masters proved."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from lamphouse.graph.commands.options import Json

if TYPE_CHECKING:
    from lamphouse.graph.check.findings import Findings
    from lamphouse.graph.check.settings import Settings
    from lamphouse.graph.check.subject import Subject

LAST_WORDS: Final = "Stopped at once; nothing was changed."
MasterFile = Annotated[
    Path, typer.Argument(metavar="MASTER", help="The finished master: a movie, or a folder of stills.")
]


def verify(
    master: MasterFile,
    reel_file: Annotated[
        Path | None,
        typer.Argument(metavar="REEL", help="Its reel: every frame is made again, and compared."),
    ] = None,
    quick: Annotated[
        bool, typer.Option("--quick", help="The bytes and what the files state; nothing is decoded.")
    ] = False,
    compare_with: Annotated[
        Path | None, typer.Option(metavar="OTHER", help="Another master, to compare with instead.")
    ] = None,
    joins: Annotated[
        Path | None, typer.Option(metavar="DIR", help="A folder for pictures of the joins of inserts.")
    ] = None,
    as_json: Json = False,
) -> None:
    """Prove a finished master by its record, and by its reel."""
    from lamphouse.nodes.errors import BadInput, CheckFailed

    if compare_with is not None and (reel_file is not None or quick or joins is not None):
        raise BadInput("--compare-with takes neither a reel nor --quick nor --joins; give it alone.")
    if quick and reel_file is not None:
        raise BadInput("--quick makes no frame again; leave it out, or leave the reel out.")
    found = verified(master, reel_file, quick) if compare_with is None else _compared(master, compare_with)
    if joins is not None:
        found.said += _joins(master, joins)
    tell(found, as_json)
    if found.count:
        raise CheckFailed(f"{found.counted} found in {master}; see to each, or transfer it again.")


def check(
    masters: Annotated[
        list[Path] | None,
        typer.Argument(metavar="MASTER...", help="Finished masters; or a folder, of stills or of masters."),
    ] = None,
    only: Annotated[
        list[str] | None,
        typer.Option(metavar="PART", help="Only this part of the check; may be repeated."),
    ] = None,
    set_: Annotated[
        list[str] | None,
        typer.Option("--set", metavar="NAME=VALUE", help="A limit or a form of a rule; may be repeated."),
    ] = None,
    settings: Annotated[
        bool, typer.Option("--settings", help="Show the parts, and all that may be set, with its source.")
    ] = False,
    matrix: Annotated[
        str | None, typer.Option(help="Of a master from elsewhere: bt601, bt709 or bt2020, against its tag.")
    ] = None,
    range_: Annotated[
        str | None, typer.Option("--range", help="Of such a one: video or full, against its tag.")
    ] = None,
    pictures: Annotated[
        Path | None, typer.Option(metavar="DIR", help="A folder for a still of each thing that was found.")
    ] = None,
    as_json: Json = False,
) -> None:
    """Check a finished master: levels, pictures, sound, timecode and tags."""
    from lamphouse.graph.check.parts import parts_of
    from lamphouse.graph.check.settings import settings_of
    from lamphouse.graph.check.several import masters_in, told_apart, unreadable
    from lamphouse.graph.check.stills import write_stills
    from lamphouse.graph.check.subject import meant_by, subject_of
    from lamphouse.nodes.errors import BadInput, CheckFailed

    parts, asked = parts_of(only or ()), settings_of(set_ or ())
    if settings:
        typer.echo(_settings_page(asked))
        return
    if not masters:
        raise BadInput("A check wants a master; give its file, or a folder.")
    meant, found = meant_by(matrix, range_), {}
    for master, name in (names := told_apart(masters_in(masters))).items():
        try:
            found[master] = checked(subject := subject_of(master, asked, meant), parts)
        except BadInput as error:  # one that cannot be read leaves the others
            if len(names) == 1:
                raise
            found[master] = unreadable(str(error))
            continue
        if pictures is not None:
            write_stills(pictures, name, subject, found[master])
    _tell_all(found, names, as_json)
    if bad := [str(names[master]) for master, one in found.items() if one.count]:
        raise CheckFailed(f"Faults were found in {', '.join(bad)}; see to each before it goes out.")


def _settings_page(asked: Settings) -> str:
    from lamphouse.graph.check.parts import PARTS
    from lamphouse.graph.check.settings import SETTINGS, as_typed

    rows = [f"{as_typed(name, asked[name])}: {one.what} ({one.source})" for name, one in SETTINGS.items()]
    return "\n".join([f"Parts: {', '.join(PARTS)}.", *rows])


def checked(subject: Subject, parts: frozenset[str]) -> Findings:
    """Return what parts of a check find in a master, with progress. Raises BadInput, and Stopped."""
    from lamphouse.graph.check.check import check
    from lamphouse.graph.progress import progress
    from lamphouse.graph.transfer.stopping import stopping

    with stopping(LAST_WORDS) as is_asked, progress(f"Checking {subject.master.name}") as step:
        return check(subject, parts, step, is_asked)


def _tell_all(found: dict[Path, Findings], names: dict[Path, Path], as_json: bool) -> None:
    from lamphouse.graph.check.check import GUIDANCE
    from lamphouse.graph.check.several import summary

    if as_json:
        masters = [{"master": str(master), **one.document()} for master, one in found.items()]
        typer.echo(json.dumps({"masters": masters, "guidance": GUIDANCE}, indent=2))
        return
    for master, one in found.items():
        if len(found) > 1:
            typer.echo(f"{master}:")
        for line in one.lines():
            typer.echo(line)
    for master, one in found.items():
        typer.echo(summary(str(names[master]), one))
    typer.echo(GUIDANCE)


def _joins(master: Path, folder: Path) -> list[str]:
    from lamphouse.graph.check.joins import write_joins
    from lamphouse.graph.media.master.record import load_record
    from lamphouse.nodes.errors import BadInput, clause

    record = load_record(master)
    try:
        found = write_joins(folder, master, record)
    except BadInput as error:  # the faults that were found are told all the same
        return [f"The joins cannot be shown: {clause(error)}."]
    if not found:
        return [f"{master.name} has no inserts, so there are no joins to show."]
    return [f"Join: {join.sentence(record.span)}" for one in found for join in one.joins]


def tell(found: Findings, as_json: bool) -> None:
    """Write what was found, as sentences or as JSON."""
    if as_json:
        typer.echo(json.dumps(found.document(), indent=2))
        return
    for line in found.lines():
        typer.echo(line)


def verified(master: Path, reel_file: Path | None, quick: bool) -> Findings:
    """Return what is wrong with a master by its record, with progress. Raises BadInput, and Stopped."""
    from lamphouse.graph.check.proof import prove
    from lamphouse.graph.progress import progress
    from lamphouse.graph.reel_files.opened import open_reel
    from lamphouse.graph.transfer.stopping import stopping

    opened = None if reel_file is None else open_reel(reel_file)
    with stopping(LAST_WORDS) as is_asked:
        return prove(master, progress, is_asked, opened, quick=quick)


def _compared(master: Path, other: Path) -> Findings:
    from lamphouse.graph.check.compare import compare
    from lamphouse.graph.check.decoding import decode
    from lamphouse.graph.media.master.record import load_record, record_path
    from lamphouse.graph.progress import progress
    from lamphouse.graph.transfer.stopping import stopping

    span = load_record(master).span if record_path(master).exists() else None
    decoded = []
    with stopping(LAST_WORDS) as is_asked:
        for path in (master, other):
            with progress(f"Decoding {path.name}") as step:
                decoded.append(decode(path, step, span.frames if span else 0, is_asked))
    return compare(master, decoded[0], other, decoded[1], span)
