"""The command line with the desk on it. Nothing heavy is imported before a command asks for it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from lamphouse.graph.commands.cli import main as run


def main() -> None:
    """Run the command. Exit status 2 for bad input, 1 for a check that failed."""
    run(_commands)


def _commands() -> tuple[Callable[..., Any], ...]:
    from lamphouse.viewer.command import desk

    return (desk,)
