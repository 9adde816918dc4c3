"""The start page: which reel a person wants to work on. It knows no window."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.lately import Lately, keep_lately, load_lately, without_reel


@dataclass(frozen=True, slots=True)
class Wish:
    """Where the person wants to be: at a reel, at the one that they came from, or away."""

    reel: Path | None = None
    goes_back: bool = False
    leaves: bool = False


class Starting:
    """What the start page holds and does. `wake` is called on other threads; `settings` is a folder."""

    def __init__(self, settings: Path, wake: Callable[[], None]) -> None:
        self._settings, self._wake = settings, wake
        self.message = ""
        self.typed = ""
        self.current: OpenedReel | None = None  # the reel at work, to which one can go back
        self.lately = Lately()
        self._wish = Wish()
        self.come(None)

    def close(self) -> None:
        """Let threads go."""

    @property
    def is_busy(self) -> bool:
        """Whether something is being read or made on another thread."""
        return False

    def take_news(self) -> bool:
        """Take what other threads have brought; say whether it was anything."""
        return False

    def take_wish(self) -> Wish:
        """Return where the person wants to be since the last call."""
        wish, self._wish = self._wish, Wish()
        return wish

    def come(self, current: OpenedReel | None) -> None:
        """Let the person come to this page, from a reel or from nowhere."""
        self.current, self.message = current, ""
        try:
            self.lately = load_lately(self._settings)
        except BadInput as error:
            self.message = str(error)

    def opened(self, opened: OpenedReel) -> None:
        """Keep a reel as the newest of those opened."""
        try:
            self.lately = keep_lately(self._settings, reel=opened.file)
        except BadInput as error:  # the reel opens all the same
            self.message = str(error)

    def take(self, path: Path) -> None:
        """Take a file that was dropped, typed or chosen: a reel is opened."""
        self.message = ""
        if not path.exists():
            self.message = f"There is no {path}; give the file of a reel."
            return
        self._wish = Wish(reel=path)

    def take_typed(self) -> None:
        """Take the path that was typed."""
        if self.typed.strip():
            self.take(Path(self.typed.strip()).expanduser())

    def forget(self, reel: str) -> None:
        """Take a reel out of the list of those opened lately; its file stays."""
        try:
            self.lately = without_reel(self._settings, reel)
        except BadInput as error:
            self.message = str(error)

    def go_back(self) -> None:
        """Go back to the reel at work."""
        self._wish = Wish(goes_back=True)

    def leave(self) -> None:
        """Close the desk."""
        self._wish = Wish(leaves=True)
