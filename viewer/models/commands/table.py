"""The table of all commands, and how keys find theirs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from lamphouse.viewer.models.commands.command import Command, Inputs
from lamphouse.viewer.models.commands.comparing import COMPARING
from lamphouse.viewer.models.commands.cueing import CUEING
from lamphouse.viewer.models.commands.marking import MARKING
from lamphouse.viewer.models.commands.moving import MOVING
from lamphouse.viewer.models.commands.showing import SHOWING
from lamphouse.viewer.models.commands.sounding import SOUNDING
from lamphouse.viewer.models.commands.working import WORKING
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels

COMMANDS: Final = (*MOVING, *CUEING, *MARKING, *SOUNDING, *COMPARING, *SHOWING, *WORKING)
BY_KEY: Final = {command.key: command for command in COMMANDS}
BY_NAME: Final = {command.name: command for command in COMMANDS}
REPEATING: Final = frozenset(command.key[0] for command in COMMANDS if command.repeats)


def named(names: Iterable[str]) -> tuple[Command, ...]:
    """Return the commands of those names."""
    return tuple(BY_NAME[name] for name in names)


def is_asking(desk: Desk, panels: Panels) -> bool:
    """Say whether a question is open: until it is answered no command does anything."""
    return panels.left_over is not None or panels.asks_to_quit or desk.is_contested


def run(command: Command, desk: Desk, panels: Panels, now: int) -> None:
    """Do a command, unless a question has to be answered first."""
    if not is_asking(desk, panels):
        desk.message = ""
        command.act(desk, panels, now)


def asked(inputs: Inputs) -> Iterator[Command]:
    """Give the commands of the keys pressed, in order; what is typed into a field is not for the desk."""
    for press in inputs.pressed:
        command = BY_KEY.get((press.name, press.is_control))
        if command is not None and (command.works_in_field or not inputs.is_typing):
            yield command


def let_go(inputs: Inputs, desk: Desk, panels: Panels, now: int) -> None:
    """Do what follows from keys that were held and let go."""
    for command in COMMANDS:
        if command.let_go is not None and command.key[0] in inputs.let_go:
            command.let_go(desk, panels, now)
