"""What a person should know beside the answer, written where it does not get into it."""

from __future__ import annotations

from collections.abc import Iterable

import typer

from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.one_line import one_line


def say_notes(notes: Iterable[str]) -> None:
    """Write each of `notes`, sentences or nothing, on a line of its own, once, to standard error."""
    for note in dict.fromkeys(filter(None, notes)):
        typer.echo(f"Note: {one_line(note)}", err=True)


def note_missing(opened: OpenedReel) -> None:
    """Say which nodes of its chain nothing here declares, where there are any."""
    say_notes(opened.missing_notes)
