"""What a command of the desk is, and what the hand did since the last turn."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.keys import KeyBook, Press
from lamphouse.viewer.models.panels import Panels

Act = Callable[[Desk, Panels, int], object]


@dataclass(frozen=True, slots=True)
class Command:
    """What can be asked of the desk by a key, a button or a stick. Its key stands in `presets/keys`."""

    name: str  # what the keys and a stick's mapping call it
    sentence: str
    act: Act
    let_go: Act | None = None  # what a hand does that held its key and lets go
    repeats: bool = False  # while its key is held: what is turned over and back must not
    is_here: bool = False  # it concerns the frame that is seen, so it waits until that is the one gone to
    works_in_field: bool = False  # also while a field has the keyboard
    is_for_sticks: bool = True
    can_flash: bool = False  # it may make the picture flash: once, a word of caution goes with it

    def tip(self, keys: KeyBook) -> str:
        """Return its sentence and its key, for a button."""
        label = keys.label(self.name)
        return self.sentence.removesuffix(".") + (f" ({label})" if label else "")


@dataclass(frozen=True, slots=True)
class Inputs:
    """What the hand did since the last turn, beside what the panels themselves hear of."""

    pressed: tuple[Press, ...] = ()
    let_go: tuple[str, ...] = ()  # keys
    is_typing: bool = False  # whether a field has the keyboard
    dropped: Path | None = None  # a file, on the window
    asks_to_close: bool = False


def timed(do: Callable[..., object], *given: object) -> Act:
    """Return what calls an action of the desk that wants to know the time."""
    return lambda desk, panels, now: do(desk, *given, now)


def done(do: Callable[..., object], *given: object) -> Act:
    """Return what calls an action of the desk."""
    return lambda desk, panels, now: do(desk, *given)
