"""The command line: what goes wrong becomes one sentence and an exit status."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from lamphouse.graph.overview import ABOUT, overview

if TYPE_CHECKING:
    import typer

INTERRUPTED = 130  # 128 + SIGINT, as shells have it


Commands = Callable[[], tuple[Callable[..., Any], ...]]


def main(more: Commands = tuple) -> None:
    """Run the command. Exit status 2 for bad input, 1 for a check that failed.

    `more` returns commands of the rooms above this one; it is called when a command has been given.
    """
    if sys.argv[1:] in ([], ["--help"]):
        print(overview())
        sys.exit()
    _run(sys.argv[1:], more)


def _run(arguments: list[str], more: Commands) -> None:
    from lamphouse.nodes.errors import BadInput, CheckFailed

    try:
        # Not standalone: there the library writes usage errors over several lines, and drops a Ctrl-C.
        status = _app(more())(args=arguments, prog_name="lamphouse", standalone_mode=False)
        if status == INTERRUPTED:
            raise KeyboardInterrupt
        sys.exit(status)
    except BadInput as error:
        _end(str(error), 2)
    except CheckFailed as error:
        _end(str(error), 1)
    except KeyboardInterrupt:
        _end("Stopped; nothing half-written was left.", INTERRUPTED)
    except Exception as error:
        if not hasattr(error, "format_message"):
            raise  # not one of the library's usage errors: our own fault, with its traceback
        _end(f"{error.format_message().rstrip('.')}; see `lamphouse --help`.", 2)


def _app(more: tuple[Callable[..., Any], ...] = ()) -> typer.Typer:
    import typer

    from lamphouse.graph.commands import luts, marks, nodes, picks, pictures, reels, transfers
    from lamphouse.graph.commands.options import common

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
        reels.cues,
        reels.cue,
        marks.marks,
        marks.mark,
        picks.pick,
        pictures.frame,
        transfers.transfer,
        luts.lut,
        *more,
        nodes.nodes,
    ):
        app.command()(command)  # type: ignore[type-var]
    return app


def _end(sentence: str, status: int) -> None:
    end = "" if sentence.endswith("?") else "."
    print(f"lamphouse: {sentence.rstrip('.')}{end}", file=sys.stderr)
    sys.exit(status)
