"""Pages on subjects, for what a command's own help has no room to say."""

from __future__ import annotations

import sys
from typing import Annotated

import typer


def help(topic: Annotated[str | None, typer.Argument(metavar="TOPIC", help="A subject.")] = None) -> None:
    """Print a page on a subject, or the list of subjects."""
    from lamphouse.graph.commands.topics import TOPICS, page
    from lamphouse.nodes.errors import BadInput, near_names

    if topic is None:
        width = max(map(len, TOPICS))
        typer.echo("\n".join(f"{name:{width}}  {sentence}" for name, sentence in TOPICS.items()))
    elif topic in TOPICS:
        _show(page(topic))
    else:
        raise BadInput(f"There is no page on {topic}{near_names(topic, TOPICS)}.")


def _show(text: str) -> None:
    """Print Markdown: set for reading on a terminal, as it is for a file or another program."""
    if not sys.stdout.isatty():
        typer.echo(text, nl=False)
        return
    from rich.console import Console
    from rich.markdown import Markdown

    console = Console()
    console.print(Markdown(text), width=min(console.width, 100))  # longer lines are hard to follow
