"""The command line: what goes wrong becomes one sentence and an exit status."""

from __future__ import annotations

import sys

import typer

from lamphouse.graph.commands import pictures, reels, transfers
from lamphouse.nodes.errors import BadInput, CheckFailed

INTERRUPTED = 130  # 128 + SIGINT, as shells have it


def main() -> None:
    """Run the command. Exit status 2 for bad input, 1 for a check that failed."""
    try:
        _app()(prog_name="lamphouse")
    except BadInput as error:
        _end(str(error), 2)
    except CheckFailed as error:
        _end(str(error), 1)
    except KeyboardInterrupt:
        _end("Stopped; nothing half-written was left.", INTERRUPTED)


def _app() -> typer.Typer:
    app = typer.Typer(
        add_completion=False,
        no_args_is_help=True,
        pretty_exceptions_enable=False,
        rich_markup_mode=None,  # one plain sentence for an error, not a box
        help="Transfer cine film to video and grade it shot by shot.",
    )
    for command in (
        transfers.demo,
        reels.new,
        reels.cues,
        reels.cue,
        pictures.frame,
        transfers.transfer,
        pictures.lut,
        pictures.nodes,
    ):
        app.command()(command)
    return app


def _end(sentence: str, status: int) -> None:
    print(f"lamphouse: {sentence.rstrip('.')}.", file=sys.stderr)
    sys.exit(status)
