"""The table of all commands, and how keys find theirs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from lamphouse.viewer.models.commands.command import Command, Inputs
from lamphouse.viewer.models.commands.comparing import COMPARING
from lamphouse.viewer.models.commands.cueing import CUEING
from lamphouse.viewer.models.commands.marking import MARKING
from lamphouse.viewer.models.commands.moving import MOVING
from lamphouse.viewer.models.commands.recording import RECORDING
from lamphouse.viewer.models.commands.showing import SHOWING
from lamphouse.viewer.models.commands.sounding import SOUNDING
from lamphouse.viewer.models.commands.surveying import SURVEYING
from lamphouse.viewer.models.commands.working import WORKING
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.keys import OF_PANELS, Press
from lamphouse.viewer.models.panels import Panels

CUES: Final = "cues"
SUBJECTS: Final = (
    ("moving", MOVING),
    (CUES, CUEING),
    ("marks", MARKING),
    ("survey", SURVEYING),
    ("sound", SOUNDING),
    ("comparing", COMPARING),
    ("showing", SHOWING),
    ("recording", RECORDING),
    ("working", WORKING),
)
COMMANDS: Final = tuple(command for _, commands in SUBJECTS for command in commands)
BY_NAME: Final = {command.name: command for command in COMMANDS}


def named(names: Iterable[str]) -> tuple[Command, ...]:
    """Return the commands of those names."""
    return tuple(BY_NAME[name] for name in names)


def is_asking(desk: Desk, panels: Panels) -> bool:
    """Say whether a question is open: until it is answered no command does anything."""
    return panels.left_over is not None or panels.asks_to_quit or desk.standing.is_asking


def run(command: Command, desk: Desk, panels: Panels, now: int) -> None:
    """Do a command, unless a question has to be answered first."""
    if not is_asking(desk, panels):
        desk.message = ""
        command.act(desk, panels, now)
        if command.can_flash and not desk.message:
            desk.message = panels.preferred.caution()


def asked(inputs: Inputs, panels: Panels) -> Iterator[Command]:
    """Give the commands of the keys pressed, in order; a key that is being given to a command does nothing.

    What is typed into a field is not for the desk, nor are the keys that move among the panels while those
    have the keyboard.
    """
    for press in inputs.pressed:
        if panels.helps and panels.key_page.takes(press, panels.keys):
            continue
        is_for_list = panels.proposals.takes if panels.proposals.is_open else panels.cues.takes
        if not (inputs.is_typing or panels.asked) and is_for_list(press):
            continue
        command = BY_NAME.get(panels.keys.name_of(press) or "")
        if command is not None and _is_for_desk(command, press, inputs, panels):
            yield command


def _is_for_desk(command: Command, press: Press, inputs: Inputs, panels: Panels) -> bool:
    if press.is_repeat and not command.repeats:
        return False
    if panels.focus.is_given and press.name in OF_PANELS:
        return False
    return not inputs.is_typing or (command.works_in_field and not press.is_written)


def let_go(inputs: Inputs, desk: Desk, panels: Panels, now: int) -> None:
    """Do what follows from keys that were held and let go."""
    for command in COMMANDS:
        if command.let_go is not None and panels.keys.key_of(command.name) in inputs.let_go:
            command.let_go(desk, panels, now)
