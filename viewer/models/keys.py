"""Which key does what: as the desk comes, and as a person changed it. It knows names, and no commands."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Final

from lamphouse.graph.files.own_file import read_own, write_own
from lamphouse.graph.files.record import Record
from lamphouse.graph.reel.presets import read_preset
from lamphouse.nodes.errors import BadInput, clause, stem

FOLDER: Final = "keys"
PRESET: Final = "desk"
OWN_FILE: Final = "keys.json"
CONTROL: Final = "Ctrl "
SHIFT: Final = "Shift "
_CALLED: Final = {"enter": "return"}  # where people call a key otherwise than the window does
_NAMED: Final = {called: name for name, called in _CALLED.items()}
KEPT: Final = frozenset({"tab", "escape"})  # by which the keyboard itself goes from hand to hand
# While the panels have the keyboard these move among them and press them.
OF_PANELS: Final = frozenset(
    {"left", "right", "up", "down", "space", "enter", "page up", "page down", "home", "end"}
)


class KeyMap(Record, frozen=True, kw_only=True):
    """The key of each command, by the command's name: of all of them, or of those that a person changed."""

    record: str = "keys/1"
    sentence: str = ""
    keys: dict[str, str] = {}


@dataclass(frozen=True, slots=True)
class Press:
    """A key that went down: the letter that the layout gives, or its own name, and what was held with it."""

    name: str
    is_control: bool = False
    is_shift: bool = False
    is_repeat: bool = False  # it is held, and comes again

    @property
    def label(self) -> str:
        """What people call it, such as `Ctrl Shift M`."""
        called = _CALLED.get(self.name, self.name).title()
        return f"{CONTROL * self.is_control}{SHIFT * self.is_shift}{called}"

    @property
    def is_written(self) -> bool:
        """Whether a field takes it for text, or moves by it."""
        return not self.is_control and not re.fullmatch(r"f\d+", self.name)


def press_of(label: str) -> Press:
    """Return the press that people call so. Raises BadInput where it can be none."""
    rest = label.removeprefix(CONTROL)
    name = rest.removeprefix(SHIFT).lower()
    press = Press(_NAMED.get(name, name), label.startswith(CONTROL), rest.startswith(SHIFT))
    is_one = press.name in OF_PANELS or (press.name and " " not in press.name)
    if not is_one or press.name in KEPT or press.label != label:
        raise BadInput(
            f"{label or 'Nothing'} is no key that a command can have; give one such as Ctrl Shift M."
        )
    return press


class KeyBook:
    """The key of each command: a person's own, else that of the preset.

    `folder` is that of a person's settings, into which each change is written; with None it is kept nowhere.
    """

    def __init__(self, own: Mapping[str, str] | None = None, folder: Path | None = None) -> None:
        self._folder = folder
        self._own = dict(own or {})
        self._find()

    def label(self, name: str) -> str:
        """Return the key of a command as people call it; nothing where another has taken it."""
        return self._labels.get(name, "")

    def key_of(self, name: str) -> str:
        """Return the name of a command's key, whatever is held with it; nothing where it has none."""
        label = self.label(name)
        return press_of(label).name if label else ""

    def name_of(self, press: Press) -> str | None:
        """Return the name of the command that a key does, or None."""
        return self._names.get((press.name, press.is_control, press.is_shift))

    def is_own(self, name: str) -> bool:
        """Say whether a person has given that command another key."""
        return name in self._own

    @property
    def are_own(self) -> bool:
        """Whether a person has changed any."""
        return bool(self._own)

    def give(self, name: str, press: Press) -> str | None:
        """Give a command another key; return the command whose key that was, which has the other's now.

        Raises BadInput for Tab and Escape, and where it cannot be written.
        """
        if press.name in KEPT:
            raise BadInput(f"{press.label} gives the keyboard to the panels and back; press another key.")
        other, before = self.name_of(press), self.label(name)
        own = {**self._own, name: press_of(press.label).label}
        if other is not None and other != name:
            own[other] = before
        self._take(own)
        return other if other != name else None

    def back(self, name: str = "") -> str | None:
        """Give a command the key that the desk comes with, or all of them; return who had it, as `give`."""
        if name:
            return self.give(name, press_of(default_keys()[name]))
        self._take({})
        return None

    def _take(self, own: dict[str, str]) -> None:
        preset = default_keys()
        self._own = {name: label for name, label in own.items() if preset.get(name) != label}
        self._find()
        if self._folder is not None:
            write_own(self._folder / OWN_FILE, KeyMap(keys=self._own))

    def _find(self) -> None:
        """Find which key does what: a person's own goes before the preset's."""
        preset = default_keys()
        self._names: dict[tuple[str, bool, bool], str] = {}
        self._labels: dict[str, str] = {}
        for name, label in (*self._own.items(), *((n, k) for n, k in preset.items() if n not in self._own)):
            if name in preset and label:
                press = press_of(label)
                key = press.name, press.is_control, press.is_shift
                if self._names.setdefault(key, name) == name:
                    self._labels[name] = label


@lru_cache
def default_keys() -> Mapping[str, str]:
    """Return the keys that the desk comes with, of all commands by name."""
    return MappingProxyType(read_preset(FOLDER, PRESET, KeyMap).keys)


def own_keys(folder: Path) -> tuple[KeyBook, str]:
    """Return the keys that a person has in the folder of their settings, and what is wrong with the file."""
    path = folder / OWN_FILE
    try:
        own = read_own(path, KeyMap, "keys").keys
        _check(own, path)
    except BadInput as error:
        return KeyBook(), f"{stem(error)}; the keys are those that the desk comes with."
    return KeyBook(own, folder), ""


def _check(own: Mapping[str, str], path: Path) -> None:
    for label in filter(None, own.values()):
        try:
            press_of(label)
        except BadInput as error:
            raise BadInput(f"{path} names a key that the desk has not: {clause(error)}.") from error


@dataclass(slots=True)
class KeyPage:
    """The page of the keys: what is looked for, the command that waits for another key, and what was said."""

    searched: str = ""
    changing: str = ""
    message: str = ""

    def begin(self, name: str) -> None:
        """Wait for the next key, which is to be that command's."""
        self.changing, self.message = name, ""

    def takes(self, press: Press, keys: KeyBook) -> bool:
        """Give the key to the command that waits, and say whether one does; Escape leaves it as it is."""
        if not self.changing:
            return False
        if press.is_repeat:  # the key that chose the line is still held
            return True
        name, self.changing = self.changing, ""
        if press.name != "escape":
            self.do(lambda: keys.give(name, press), keys)
        return True

    def do(self, change: Callable[[], str | None], keys: KeyBook) -> None:
        """Change keys, and say whose key that was, or why it cannot be."""
        try:
            other = change()
            words = (other or "").replace("_", " ")
            self.message = (
                f"That was the key of {words}, which has {keys.label(other or '')} now." if other else ""
            )
        except BadInput as error:
            self.message = str(error)
