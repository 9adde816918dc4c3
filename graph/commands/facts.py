"""What a reel is, and its media where they have moved."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lamphouse.graph.commands.options import (
    Client,
    ClientNote,
    Counting,
    Identifiers,
    Json,
    ReelFile,
    Title,
    counting_of,
)


def reel(
    reel_file: ReelFile,
    scan: Annotated[Path | None, typer.Option(help="Where its scan is now.")] = None,
    sound: Annotated[Path | None, typer.Option(help="Where its sound is now, or another.")] = None,
    shape: Annotated[
        str | None,
        typer.Option(help="Of its film's picture: super16, scope, 1.85 ..., or scan for all of it."),
    ] = None,
    start: Annotated[str | None, typer.Option(help="Give its head mark this record timecode.")] = None,
    counting: Counting = None,
    gauge: Annotated[str | None, typer.Option(help="Count its feet as of 16mm, super8 ...")] = None,
    encoding: Annotated[str | None, typer.Option(help="Take its scan's codes as video, density ...")] = None,
    primaries: Annotated[str | None, typer.Option(help="Take its scan on bt709, bt2020 ...")] = None,
    title: Title = None,
    identifier: Identifiers = None,
    client: Client = None,
    note: ClientNote = None,
    as_json: Json = False,
) -> None:
    """Tell what a reel holds; set where its media are, and its timecode."""
    import json

    from lamphouse.graph.edits.about import with_about
    from lamphouse.graph.edits.counters import with_gauge, with_start
    from lamphouse.graph.edits.scan_colour import with_colour
    from lamphouse.graph.handover.reel_facts import facts_lines, facts_of
    from lamphouse.graph.reel_files.opened import change_reel, open_reel

    if scan is not None:
        _point_at_scan(reel_file, scan)
    if sound is not None:
        _point_at_sound(reel_file, sound)
    if shape is not None:
        _give_shape(reel_file, shape)
    if start is not None or counting is not None:
        change_reel(reel_file, lambda now: with_start(now.reel, start, counting_of(counting)))
    if gauge is not None:
        change_reel(reel_file, lambda now: with_gauge(now.reel, gauge))
    if encoding is not None or primaries is not None:
        change_reel(reel_file, lambda now: with_colour(now.reel, encoding, primaries))
    if any(given is not None for given in (title, identifier, client, note)):
        change_reel(reel_file, lambda now: with_about(now.reel, title, identifier, client, note))
    facts = facts_of(open_reel(reel_file))
    if as_json:
        typer.echo(json.dumps(facts, indent=2))
        return
    for name, text in facts_lines(facts).items():
        typer.echo(f"{name:9}  {text}")


def _point_at_scan(reel_file: Path, path: Path) -> None:
    from lamphouse.graph.edits.media import with_scan
    from lamphouse.graph.media.scan.open import open_scan
    from lamphouse.graph.reel.store import load
    from lamphouse.graph.reel_files.opened import change_reel

    known = load(reel_file).scan
    with open_scan(path, matrix=known.matrix, range_=known.range) as scan:
        change_reel(reel_file, lambda now: with_scan(now, scan, path))


def _point_at_sound(reel_file: Path, path: Path) -> None:
    from lamphouse.graph.commands.notes import say_notes
    from lamphouse.graph.edits.media import with_sound
    from lamphouse.graph.media.sound.facts import sound_facts, sound_notes
    from lamphouse.graph.reel_files.opened import change_reel

    sound_facts(path)  # what cannot be read is not taken
    say_notes(sound_notes(path, change_reel(reel_file, lambda now: with_sound(now, path)).reel))


def _give_shape(reel_file: Path, shape: str) -> None:
    from lamphouse.graph.edits.media import with_shape
    from lamphouse.graph.reel_files.opened import change_reel

    change_reel(reel_file, lambda now: with_shape(now.reel, shape))
