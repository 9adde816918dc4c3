"""Folders looked into: what is there for us, one line for a whole sequence of stills, found by typing."""

from __future__ import annotations

import os
from collections.abc import Callable, Collection
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

from lamphouse.graph.handover.lists.arrive import ENDINGS as LISTS
from lamphouse.graph.media.scan.scan import STILLS
from lamphouse.graph.media.scan.still_sequence import NUMBERED, sequences_in
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.work import Work

Kind = Literal["folder", "reel", "movie", "stills", "sound", "list", "other"]

# By their usual endings. What has another is shown with all files, and is whatever it is found to be.
MOVIES: Final = frozenset(
    (
        *(".mkv", ".mov", ".mp4", ".m4v", ".avi", ".mxf", ".mpg", ".mpeg", ".m2v", ".ts", ".m2ts", ".mts"),
        *(".webm", ".ogv", ".nut", ".dv", ".gxf", ".y4m", ".wmv", ".vob", ".h264", ".264", ".h265", ".hevc"),
    )
)
SOUNDS: Final = frozenset(
    (
        *(".wav", ".w64", ".aif", ".aiff", ".caf", ".flac", ".mp3"),
        *(".m4a", ".aac", ".ac3", ".ogg", ".opus", ".wv", ".au"),
    )
)
REEL: Final = ".reel"
KNOWN: Final[tuple[tuple[Kind, Collection[str]], ...]] = (
    ("movie", MOVIES),
    ("sound", SOUNDS),
    ("stills", STILLS),
    ("reel", (REEL,)),
    ("list", LISTS),
)
TO_OPEN: Final[frozenset[Kind]] = frozenset({"reel", "movie", "stills"})
TO_HEAR: Final[frozenset[Kind]] = frozenset({"sound", "movie"})
UNITS: Final = ("bytes", "kB", "MB", "GB", "TB")


@dataclass(frozen=True, slots=True)
class Entry:
    """One line: a folder, a file, or a sequence of stills, whose path is that of its first."""

    name: str
    path: Path
    kind: Kind
    detail: str = ""


class Browser:
    """One folder at a time, read on a thread; `kinds` are those that can be taken out of it.

    `name` is what is being typed: of what is looked for, or, where it `saves`, of the file, or folder, to be
    written.
    """

    def __init__(
        self,
        folder: Path,
        kinds: frozenset[Kind],
        wake: Callable[[], None],
        *,
        saves: str | None = None,
        is_folder: bool = False,
    ) -> None:
        self.kinds, self.is_saving, self._is_folder = kinds, saves is not None, is_folder
        self.name = saves or ""
        self.all_files = False
        self.chosen = 0
        self.message = ""
        self.asks_to_replace = False
        self.wants_keyboard = True
        self.folder = folder
        self._entries: tuple[Entry, ...] = ()
        self._work: Work[tuple[Path, tuple[Entry, ...]]] = Work(wake)
        self._come_from = ""
        self.go(folder)

    def close(self) -> None:
        """Let the thread go."""
        self._work.close()

    @property
    def is_busy(self) -> bool:
        """Whether a folder is being read."""
        return self._work.is_under_way

    @property
    def shown(self) -> tuple[Entry, ...]:
        """The lines that fit what was typed."""
        looked_for = "" if self.is_saving else self.name.casefold()
        kinds = self.kinds | {"folder"}
        return tuple(
            entry
            for entry in self._entries
            if (entry.kind in kinds or self.all_files) and looked_for in entry.name.casefold()
        )

    @property
    def target(self) -> Path:
        """The file that would be written."""
        return self.folder / self.name.strip()

    def take_news(self) -> bool:
        """Take what was read; say whether it was anything."""
        outcome = self._work.take()
        if outcome is None:
            return False
        if outcome.result is None:
            self.message = outcome.reason
            return True
        self.folder, self._entries = outcome.result
        names = [entry.name for entry in self.shown]
        self.chosen = names.index(self._come_from) if self._come_from in names else 0
        return True

    def go(self, folder: Path) -> None:
        """Look into a folder."""
        self.message, self.asks_to_replace = "", False
        self._work.begin(lambda step: _read(folder))

    def go_up(self) -> None:
        """Look into the folder above, at the one that one comes from."""
        self._come_from = self.folder.name
        if not self.is_saving:
            self.name = ""
        self.go(self.folder.parent)

    def look_for(self, name: str) -> None:
        """Look for a name, or for a path that is typed whole."""
        self.name, self.chosen, self.asks_to_replace = name, 0, False
        if len(name) > 1 and name.endswith(os.sep):
            folder = self.folder / Path(name).expanduser()
            if folder.is_dir():
                self.name = ""
                self.go(folder)

    def move(self, by: int) -> None:
        """Choose another line."""
        self.chosen = max(0, min(self.chosen + by, len(self.shown) - 1))

    def take(self, entry: Entry | None = None) -> Path | None:
        """Return the file that is taken, or None: a folder is looked into, and a wrong name is told.

        Without `entry` it is what was typed where that is a file, else the line that is chosen.
        """
        if entry is None:
            typed = self.folder / Path(self.name.strip()).expanduser()
            if self.name.strip() and typed.is_file() and not self.is_saving:
                return typed
            shown = self.shown
            if not shown:
                self.message = f"Nothing here is called {self.name}." if self.name else "Nothing is here."
                return None
            entry = shown[min(self.chosen, len(shown) - 1)]
        self.chosen = self.shown.index(entry) if entry in self.shown else 0
        if entry.kind == "folder":
            self._come_from = ""
            if not self.is_saving:
                self.name = ""
            self.go(entry.path)
            return None
        if self.is_saving:
            self.name = entry.name
            return None
        return entry.path

    def take_target(self, *, replaces: bool = False) -> Path | None:
        """Return the file to write, or None where a name is lacking, or one that is there is asked about."""
        if not self.name.strip():
            self.message = "Give it a name."
            return None
        target = self.target
        if target.is_dir() and not self._is_folder:
            self.go(target)
            return None
        self.asks_to_replace = target.exists() and not replaces
        return None if self.asks_to_replace else target


def _read(folder: Path) -> tuple[Path, tuple[Entry, ...]]:
    folder = Path(os.path.abspath(folder.expanduser()))  # noqa: PTH100  # a link to a folder stays one
    try:
        return folder, entries_of(folder)
    except OSError as error:
        raise BadInput(f"{folder} cannot be looked into ({error.strerror}); choose another.") from error


def entries_of(folder: Path) -> tuple[Entry, ...]:
    """Return what a folder holds: folders first, then files and sequences by name. Raises OSError."""
    folders, files = [], []
    stills = {key: found for key, found in sequences_in(folder).items() if len(found) > 1}
    members = {path.name for found in stills.values() for path in found}
    with os.scandir(folder) as there:
        for entry in there:
            if entry.name.startswith(".") or entry.name in members:
                continue
            if entry.is_dir():
                folders.append(Entry(entry.name, Path(entry.path), "folder"))
            else:
                files.append(_file(Path(entry.path)))
    files += [_sequence(found) for found in stills.values()]
    by_name = {entry: entry.name.casefold() for entry in (*folders, *files)}
    return (*sorted(folders, key=by_name.__getitem__), *sorted(files, key=by_name.__getitem__))


def _file(path: Path) -> Entry:
    kind: Kind = "other"
    suffix = path.suffix.lower()
    for known, endings in KNOWN:
        if suffix in endings:
            kind = known
    try:
        size = size_text(path.stat().st_size)
    except OSError:  # a link to nothing
        size = "not there"
    return Entry(path.name, path, kind, size)


def _sequence(files: list[Path]) -> Entry:
    first, last = (NUMBERED.fullmatch(path.name) for path in (files[0], files[-1]))
    assert first
    assert last
    name = f"{first['prefix']}{first['number']} - {last['number']}{first['suffix']}"
    size = size_text(files[0].stat().st_size * len(files))
    return Entry(name, files[0], "stills", f"{len(files)} stills, about {size}")


def size_text(size: int) -> str:
    """Return a number of bytes as people write it."""
    amount, unit = float(size), 0
    while amount >= 1000 and unit < len(UNITS) - 1:
        amount, unit = amount / 1000, unit + 1
    return f"{amount:.3g} {UNITS[unit]}" if amount < 999.5 else f"{amount:.0f} {UNITS[unit]}"
