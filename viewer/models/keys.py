"""What each key does. The help page is this table."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.marking import go_to_head, go_to_mark, mark_here, mark_soft, unmark, zero_here
from lamphouse.viewer.models.screen import Screen

Act = Callable[[Desk, Screen], object]


@dataclass(frozen=True, slots=True)
class Key:
    """A key, with Control where `is_control`, and what it does."""

    label: str
    sentence: str
    name: str  # as `Screen.keys` has it: the letter that the layout gives, or the name of the key
    act: Act
    is_control: bool = False
    action: str = ""  # what a stick's mapping calls it
    let_go: Act | None = None  # what it does when a hand that held it lets go
    repeats: bool = False  # while it is held: what is turned over and back must not


def leave(desk: Desk, screen: Screen) -> None:
    """Close the desk, or ask where something is not saved."""
    is_saved = desk.is_saved and not screen.sticks.shelf.unkept
    screen.asks_to_quit, screen.is_over = not is_saved, is_saved


def _compared(desk: Desk, screen: Screen) -> None:
    desk.comparison.flick(screen.now)


def _back(desk: Desk, screen: Screen) -> None:
    desk.comparison.let_go(screen.now)


def _upright(desk: Desk, screen: Screen) -> None:
    desk.comparison.upright(screen.picture.middle)


def _chain_shown(desk: Desk, screen: Screen) -> None:
    screen.chain.is_open = not screen.chain.is_open


def _node_removed(desk: Desk, screen: Screen) -> None:
    if screen.chain.is_open and screen.node:
        desk.take_out(screen.node)


def _helped(desk: Desk, screen: Screen) -> None:
    screen.helps = not screen.helps


def _mapped(desk: Desk, screen: Screen) -> None:
    screen.sticks.turn()


def _heard(desk: Desk, screen: Screen) -> None:
    screen.hears = not screen.hears


def _now(do: Callable[..., object], *given: object) -> Act:
    """Return what calls a command that wants to know the time."""
    return lambda desk, screen: do(desk, *given, screen.now)


def _last(desk: Desk, screen: Screen) -> None:
    desk.go_to(desk.reel.scan.frames - 1, screen.now)


KEYS: Final = (
    Key("Space", "Play, or stop.", "space", _now(Desk.play), action="play"),
    Key("J", "Shuttle back, faster with every press.", "j", _now(Desk.shuttle, -1), action="shuttle_back"),
    Key("K", "Stop.", "k", _now(Desk.stop), action="stop"),
    Key("L", "Shuttle on, faster with every press.", "l", _now(Desk.shuttle, 1), action="shuttle_on"),
    Key("R", "Play backwards.", "r", _now(Desk.reverse), action="reverse"),
    Key("A", "Sound with the picture, or silence.", "a", _heard, action="sound"),
    Key("Left", "One frame back.", "left", _now(Desk.step, -1), action="step_back", repeats=True),
    Key("Right", "One frame on.", "right", _now(Desk.step, 1), action="step_on", repeats=True),
    Key(
        "Page Up", "The cue before.", "page up", _now(Desk.go_to_cue, -1), action="previous_cue", repeats=True
    ),
    Key("Page Down", "The next cue.", "page down", _now(Desk.go_to_cue, 1), action="next_cue", repeats=True),
    Key("Home", "The first frame.", "home", _now(Desk.go_to, 0), action="first_frame"),
    Key("End", "The last frame.", "end", _last, action="last_frame"),
    Key("Return", "A new cue at the playhead.", "enter", lambda d, s: d.store(), action="store_cue"),
    Key("M", "Mark the frame.", "m", lambda d, s: mark_here(d), action="mark"),
    Key("O", "The shot is soft, out of focus.", "o", lambda d, s: mark_soft(d), action="soft_shot"),
    Key("F", "Flag the frame to look at again.", "f", lambda d, s: mark_here(d, "check"), action="flag"),
    Key("X", "Take out the mark.", "x", lambda d, s: unmark(d), action="unmark"),
    Key(",", "The mark before.", ",", _now(go_to_mark, -1), action="previous_mark", repeats=True),
    Key(".", "The next mark.", ".", _now(go_to_mark, 1), action="next_mark", repeats=True),
    Key("H", "The head mark.", "h", _now(go_to_head), action="head_mark"),
    Key("Ctrl H", "Zero the counters here.", "h", lambda d, s: zero_here(d), is_control=True),
    Key("B", "What it is held against; held down, until let go.", "b", _compared, False, "compare", _back),
    Key("Ctrl B", "The wipe upright in the middle again.", "b", _upright, is_control=True),
    Key("Ctrl Z", "Undo.", "z", lambda d, s: d.undo(), is_control=True, action="undo", repeats=True),
    Key("Ctrl Y", "Redo.", "y", lambda d, s: d.redo(), is_control=True, action="redo", repeats=True),
    Key("Ctrl S", "Save.", "s", lambda d, s: d.save(), is_control=True, action="save"),
    Key("Ctrl Q", "Close the desk.", "q", leave, is_control=True),
    Key("F1", "This page.", "f1", _helped, action="help"),
    Key("F2", "What the sticks move, and how to change it.", "f2", _mapped, action="sticks"),
    Key("F3", "The chain in place of the scopes, and back.", "f3", _chain_shown, action="chain"),
    Key("Delete", "Take the open node out of the chain that is shown.", "delete", _node_removed),
)


REPEATING: Final = frozenset(key.name for key in KEYS if key.repeats)


def is_asking(desk: Desk, screen: Screen) -> bool:
    """Say whether a question is open: until it is answered neither keys nor sticks do anything."""
    return screen.left_over is not None or screen.asks_to_quit or desk.is_contested


def take_keys(desk: Desk, screen: Screen, *, is_typing: bool) -> None:
    """Do what the keys pressed since say, in their order.

    What is typed into a field is not for the desk, and an open question has to be answered first.
    """
    pressed, screen.keys = screen.keys, []
    for name, is_control in () if is_typing or is_asking(desk, screen) else pressed:
        for key in KEYS:
            if (key.name, key.is_control) == (name, is_control):
                key.act(desk, screen)
    let_go, screen.let_go = screen.let_go, []
    for key in KEYS:
        if key.let_go is not None and key.name in let_go:
            key.let_go(desk, screen)
