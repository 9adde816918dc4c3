"""The commands of the desk, in one table: of keys, buttons, sticks, tooltips and the help page."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.marking import go_to_head, go_to_mark, mark_here, mark_soft, unmark, zero_here
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.sounding import MILLISECOND, move_sound, pip_here

Act = Callable[[Desk, Panels, int], object]
CONTROL: Final = "Ctrl "
KEYS: Final = {"return": "enter"}  # where people call a key otherwise than the window does


@dataclass(frozen=True, slots=True)
class Command:
    """What can be asked of the desk by a key, a button or a stick. `label` is its key, as people call it."""

    name: str  # what a stick's mapping calls it
    label: str
    sentence: str
    act: Act
    let_go: Act | None = None  # what a hand does that held its key and lets go
    repeats: bool = False  # while its key is held: what is turned over and back must not
    is_here: bool = False  # it concerns the frame that is seen, so it waits until that is the one gone to
    works_in_field: bool = False  # also while a field has the keyboard
    is_for_sticks: bool = True

    @property
    def key(self) -> tuple[str, bool]:
        """The name of its key, and whether Control is held with it."""
        name = self.label.removeprefix(CONTROL).lower()
        return KEYS.get(name, name), self.label.startswith(CONTROL)

    @property
    def tip(self) -> str:
        """Its sentence and its key, for a button."""
        return f"{self.sentence.removesuffix('.')} ({self.label})"


@dataclass(frozen=True, slots=True)
class Press:
    """A key that went down, by the letter that the layout gives or its own name, and whether with Control."""

    name: str
    is_control: bool = False


@dataclass(frozen=True, slots=True)
class Inputs:
    """What the hand did since the last turn, beside what the panels themselves hear of."""

    pressed: tuple[Press, ...] = ()
    let_go: tuple[str, ...] = ()  # keys
    is_typing: bool = False  # whether a field has the keyboard
    dropped: Path | None = None  # a file, on the window
    asks_to_close: bool = False


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


def leave(desk: Desk, panels: Panels, now: int = 0) -> None:
    """Close the desk, or ask where something is not saved."""
    is_saved = desk.is_saved and not panels.sticks.shelf.unkept
    panels.asks_to_quit, panels.is_over = not is_saved, is_saved


def _compared(desk: Desk, panels: Panels, now: int) -> None:
    desk.comparison.flick(now)


def _back(desk: Desk, panels: Panels, now: int) -> None:
    desk.comparison.let_go(now)


def _upright(desk: Desk, panels: Panels, now: int) -> None:
    desk.comparison.upright(panels.picture.middle)


def _chain_shown(desk: Desk, panels: Panels, now: int) -> None:
    panels.chain.is_open = not panels.chain.is_open


def _node_removed(desk: Desk, panels: Panels, now: int) -> None:
    if panels.chain.is_open and panels.node:
        desk.take_out(panels.node)


def _helped(desk: Desk, panels: Panels, now: int) -> None:
    panels.helps = not panels.helps


def _mapped(desk: Desk, panels: Panels, now: int) -> None:
    panels.sticks.turn()


def _safe_shown(desk: Desk, panels: Panels, now: int) -> None:
    panels.picture.safe = not panels.picture.safe


def _gate_shown(desk: Desk, panels: Panels, now: int) -> None:
    panels.picture.gate = not panels.picture.gate


def _judged(desk: Desk, panels: Panels, now: int) -> None:
    panels.judges = not panels.judges
    if panels.judges and panels.picture.delivery is None:
        desk.message = "Choose the delivery whose frame is shown: it is the one that is judged."


def _sound_switched(desk: Desk, panels: Panels, now: int) -> None:
    panels.hears = not panels.hears


def _last(desk: Desk, panels: Panels, now: int) -> None:
    desk.go_to(desk.reel.scan.frames - 1, now)


def _at(do: Callable[..., object], *given: object) -> Act:
    """Return what calls a command that wants to know the time."""
    return lambda desk, panels, now: do(desk, *given, now)


def _do(do: Callable[..., object], *given: object) -> Act:
    return lambda desk, panels, now: do(desk, *given)


COMMANDS: Final = (
    Command("play", "Space", "Play, or stop.", _at(Desk.play)),
    Command("shuttle_back", "J", "Shuttle back, faster with every press.", _at(Desk.shuttle, -1)),
    Command("stop", "K", "Stop.", _at(Desk.stop)),
    Command("shuttle_on", "L", "Shuttle on, faster with every press.", _at(Desk.shuttle, 1)),
    Command("reverse", "R", "Play backwards.", _at(Desk.reverse)),
    Command("sound", "A", "Sound with the picture, or silence.", _sound_switched),
    Command("step_back", "Left", "One frame back.", _at(Desk.step, -1), repeats=True),
    Command("step_on", "Right", "One frame on.", _at(Desk.step, 1), repeats=True),
    Command("previous_cue", "Page Up", "The cue before.", _at(Desk.go_to_cue, -1), repeats=True),
    Command("next_cue", "Page Down", "The next cue.", _at(Desk.go_to_cue, 1), repeats=True),
    Command("first_frame", "Home", "The first frame.", _at(Desk.go_to, 0)),
    Command("last_frame", "End", "The last frame.", _last),
    Command("store_cue", "Return", "A new cue at the playhead.", _do(Desk.store), is_here=True),
    Command("mark", "M", "Mark the frame.", _do(mark_here), is_here=True),
    Command("soft_shot", "O", "The shot is soft, out of focus.", _do(mark_soft), is_here=True),
    Command("flag", "F", "Flag the frame to look at again.", _do(mark_here, "check"), is_here=True),
    Command("unmark", "X", "Take out the mark.", _do(unmark), is_here=True),
    Command("previous_mark", ",", "The mark before.", _at(go_to_mark, -1), repeats=True),
    Command("next_mark", ".", "The next mark.", _at(go_to_mark, 1), repeats=True),
    Command("head_mark", "H", "The head mark.", _at(go_to_head)),
    Command("zero", "Ctrl H", "Zero the counters here.", _do(zero_here), is_here=True, is_for_sticks=False),
    Command("sound_later", "Up", "The sound a frame later.", _do(move_sound, 1), repeats=True),
    Command("sound_earlier", "Down", "The sound a frame earlier.", _do(move_sound, -1), repeats=True),
    Command(
        "sound_little_later",
        "Ctrl Up",
        "The sound a millisecond later.",
        _do(move_sound, 0, MILLISECOND),
        repeats=True,
    ),
    Command(
        "sound_little_earlier",
        "Ctrl Down",
        "The sound a millisecond earlier.",
        _do(move_sound, 0, -MILLISECOND),
        repeats=True,
    ),
    Command("pip_here", "P", "The sync pip of the sound at this frame.", _do(pip_here), is_here=True),
    Command("compare", "B", "What it is compared with; held down, until let go.", _compared, _back),
    Command("upright", "Ctrl B", "The wipe upright in the middle again.", _upright),
    Command("safe", "S", "The safe areas over the picture, and away.", _safe_shown),
    Command("gate", "G", "The edges of the film's gate, and away.", _gate_shown),
    Command("judge", "D", "Stripes and scopes of the delivered picture, or of the grade.", _judged),
    Command("undo", "Ctrl Z", "Undo.", _do(Desk.undo), repeats=True),
    Command("redo", "Ctrl Y", "Redo.", _do(Desk.redo), repeats=True),
    Command("save", "Ctrl S", "Save.", _do(Desk.save), works_in_field=True),
    Command("leave", "Ctrl Q", "Close the desk.", leave, works_in_field=True, is_for_sticks=False),
    Command("help", "F1", "This page.", _helped, works_in_field=True),
    Command("sticks", "F2", "What the joysticks move, and how to change it.", _mapped, works_in_field=True),
    Command("chain", "F3", "The chain in place of the scopes, and back.", _chain_shown, works_in_field=True),
    Command(
        "remove_node",
        "Delete",
        "Take the open node out of the chain that is shown.",
        _node_removed,
        is_for_sticks=False,
    ),
)
BY_KEY: Final = {command.key: command for command in COMMANDS}
BY_NAME: Final = {command.name: command for command in COMMANDS}
REPEATING: Final = frozenset(command.key[0] for command in COMMANDS if command.repeats)


def named(names: Iterable[str]) -> tuple[Command, ...]:
    """Return the commands of those names."""
    return tuple(BY_NAME[name] for name in names)
