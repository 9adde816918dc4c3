"""The command line: what goes wrong becomes one sentence and an exit status."""

from __future__ import annotations

import os
import sys
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager, redirect_stdout, suppress
from io import StringIO
from typing import TYPE_CHECKING, Any, TextIO

from lamphouse.graph.commands.overview import ABOUT, overview
from lamphouse.nodes.one_line import one_line, plain_lines, sentence

if TYPE_CHECKING:
    import typer

# 128 and the signal's number, as shells have it.
INTERRUPTED = 130
NOBODY_READS = 141

Commands = Callable[[], tuple[Callable[..., Any], ...]]


def main(more: Commands = tuple) -> None:
    """Run the command. Exit status 2 for bad input, 1 for a check that failed.

    `more` returns commands of the rooms above this one; it is called when a command has been given.
    """
    with _plain_notes():
        try:
            status, told = _outcome(sys.argv[1:], more)
        except KeyboardInterrupt as again:  # while what ended the command was being told
            status, told = INTERRUPTED, str(again.__context__ or "Stopped.")
    if told:
        with suppress(OSError):  # where nobody takes it the status still says it
            print(f"lamphouse: {told}", file=sys.stderr)
    sys.exit(status)


def _outcome(arguments: list[str], more: Commands) -> tuple[int, str]:
    """Return the exit status, and what a person must be told of it."""
    try:
        with redirect_stdout(_Answer(sys.stdout or StringIO())) as answer:
            status = _run(arguments, more)
            answer.flush()  # what cannot be written is found out here, not by the interpreter at its end
    except KeyboardInterrupt:
        return INTERRUPTED, "Stopped; nothing half-written stands under its name."
    except Exception as error:
        return _told(error)
    return status, ""


class _NotTaken(Exception):
    """Standard output does not take what is written to it; the system's reason is its cause."""


class _Answer:
    """Standard output, whose own errors are told from those of any other file."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def write(self, text: str) -> int:
        try:
            return self._stream.write(plain_lines(text))
        except OSError as error:
            raise _NotTaken from error

    def flush(self) -> None:
        try:
            self._stream.flush()
        except OSError as error:
            raise _NotTaken from error

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)


def _run(arguments: list[str], more: Commands) -> int:
    if arguments in ([], ["--help"]):
        print(overview())
        return 0
    # Not standalone: there the library writes usage errors over several lines, and drops a Ctrl-C.
    status = _app(more())(args=arguments, prog_name="lamphouse", standalone_mode=False)
    if status == INTERRUPTED:
        raise KeyboardInterrupt
    return status or 0


def _told(error: Exception) -> tuple[int, str]:
    """Return what `error` is to a person, or raise it: then it is our own fault, with its traceback."""
    from lamphouse.nodes.errors import BadInput, CheckFailed, Stopped

    if isinstance(error, BadInput):
        return 2, str(error)
    if isinstance(error, CheckFailed):
        return 1, str(error)
    if isinstance(error, Stopped):
        return INTERRUPTED, str(error)
    if isinstance(error, _NotTaken):
        return _untaken(error.__cause__)
    if isinstance(error, OSError) and error.filename is not None:  # a folder that may not be looked into
        return 2, sentence(f"{error.filename} cannot be used ({error.strerror}); give another place.")
    if hasattr(error, "format_message"):  # one of the library's usage errors
        command = getattr(getattr(error, "ctx", None), "command_path", "lamphouse")
        return 2, sentence(f"{error.format_message().rstrip('.')}; see `{command} --help`.")
    raise error


def _untaken(cause: BaseException | None) -> tuple[int, str]:
    # What was not taken is dropped, or the interpreter tries it again at its end.
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    if isinstance(cause, BrokenPipeError):
        return NOBODY_READS, ""  # whoever read it has seen enough, as `head` has
    return 2, f"The answer cannot be written ({getattr(cause, 'strerror', cause)}); send it somewhere else."


@contextmanager
def _plain_notes() -> Iterator[None]:
    """Say our own warnings in a line each. Those of libraries help who writes code: `python -W` shows all."""
    with warnings.catch_warnings():
        if not sys.warnoptions:
            warnings.showwarning = _note  # type: ignore[assignment]  # it is called by place, not by name
        yield


def _note(message: Warning | str, category: type[Warning], *_: Any) -> None:
    from lamphouse.nodes.errors import Note

    if issubclass(category, Note):
        with suppress(OSError):  # work does not end because nobody takes a note of it
            print(f"Note: {one_line(str(message))}", file=sys.stderr)


def _app(more: tuple[Callable[..., Any], ...] = ()) -> typer.Typer:
    import typer

    from lamphouse.graph.commands import (
        checks,
        facts,
        handovers,
        help,
        inserts,
        lists,
        luts,
        marks,
        matches,
        nodes,
        picks,
        pictures,
        reels,
        reports,
        sounds,
        surveys,
        tracks,
        transfers,
    )
    from lamphouse.graph.commands.options import Command, common

    app = typer.Typer(
        add_completion=False,
        no_args_is_help=True,
        pretty_exceptions_enable=False,
        rich_markup_mode=None,  # one plain sentence for an error, not a box
    )
    app.callback(help=ABOUT)(common)
    for command in (
        transfers.demo,
        reels.new,
        facts.reel,
        sounds.sound,
        surveys.survey,
        lists.cues,
        reels.cue,
        marks.marks,
        marks.mark,
        picks.pick,
        matches.match,
        matches.even,
        tracks.tracks,
        pictures.frame,
        transfers.transfer,
        inserts.insert,
        checks.verify,
        checks.check,
        reports.report,
        handovers.handover,
        luts.lut,
        *more,
        nodes.nodes,
        help.help,
    ):
        app.command(cls=Command)(command)  # type: ignore[type-var]
    return app
