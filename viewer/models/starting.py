"""The start page: which reel a person wants to work on. It knows no window."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from lamphouse.graph.media.scan.still_sequence import sequences_in
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.browsing import REEL, SOUNDS, TO_HEAR, TO_OPEN, Browser
from lamphouse.viewer.models.lately import Codes, Lately, keep_lately, load_lately, picture_of, without_reel
from lamphouse.viewer.models.new_reel import NewReel
from lamphouse.viewer.models.work import Work


@dataclass(frozen=True, slots=True)
class Wish:
    """Where the person wants to be: at a reel, at the one that they came from, or away."""

    reel: Path | None = None
    goes_back: bool = False
    leaves: bool = False


@dataclass(frozen=True, slots=True)
class Picking:
    """What a file is looked for as, and where."""

    what: Literal["sound", "place"]
    browser: Browser


class Starting:
    """What the start page holds and does. `wake` is called on other threads; `settings` is a folder."""

    def __init__(self, settings: Path, wake: Callable[[], None]) -> None:
        self._settings, self._wake = settings, wake
        self.message = ""
        self.current: OpenedReel | None = None  # the reel at work, to which one can go back
        self.lately = Lately()
        self.pictures: dict[str, Codes] = {}  # of the reels opened lately, as they were left
        self.gone: frozenset[str] = frozenset()  # those of them that are not there
        self._looks: Work[frozenset[str]] = Work(wake)
        self._wish = Wish()
        self.come(None)
        folder = Path(self.lately.folder) if self.lately.folder else Path.cwd()
        self.browser = Browser(folder if folder.is_dir() else Path.home(), TO_OPEN, wake)
        self.new: NewReel | None = None  # a reel that is being started
        self.picking: Picking | None = None  # a file for it that is looked for

    def close(self) -> None:
        """Let threads go."""
        self._looks.close()
        self.browser.close()
        self.stop_picking()
        self.drop_new()

    @property
    def is_busy(self) -> bool:
        """Whether something is being read or made on another thread."""
        is_picking = self.picking is not None and self.picking.browser.is_busy
        is_reading = self.browser.is_busy or self._looks.is_under_way
        return is_reading or is_picking or (self.new is not None and self.new.is_busy)

    def take_news(self) -> bool:
        """Take what other threads have brought; say whether it was anything."""
        has_news = self.browser.take_news()
        if (looked := self._looks.take()) is not None:
            has_news, self.gone = True, looked.result or frozenset()
        if self.picking is not None:
            has_news |= self.picking.browser.take_news()
        if self.new is not None:
            has_news |= self.new.take_news()
            if self.new.made is not None:
                self._wish = Wish(reel=self.new.made)
                self.drop_new()
        return has_news

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
        reels = self.lately.reels
        self._looks.begin(lambda step: frozenset(reel for reel in reels if not Path(reel).exists()))
        found = ((reel, picture_of(Path(reel))) for reel in self.lately.reels)
        self.pictures = {reel: codes for reel, codes in found if codes is not None}

    def opened(self, opened: OpenedReel) -> None:
        """Keep a reel as the newest of those opened."""
        try:
            self.lately = keep_lately(self._settings, reel=opened.file, folder=opened.file.parent)
        except BadInput as error:  # the reel opens all the same
            self.message = str(error)

    def take(self, path: Path) -> None:
        """Take what was dropped or chosen: a reel is opened, of a scan one is started, sound goes with it."""
        self.message = ""
        if not path.exists():
            self.message = f"There is no {path}; give the file of a reel or a scan."
        elif path.suffix.lower() == REEL:
            self._wish = Wish(reel=path)
        elif path.suffix.lower() in SOUNDS:
            self._take_sound(path)
        elif path.is_dir() and not _holds_stills(path):
            self.browser.go(path)
        else:
            self._keep_folder(path.parent)
            self.drop_new()
            self.new = NewReel(path, self._wake)

    def _take_sound(self, path: Path) -> None:
        if self.new is None:
            self.message = f"{path.name} is a sound; choose the scan first that it belongs to."
        else:
            self.new.choose(sound=path)

    def _keep_folder(self, folder: Path) -> None:
        try:
            self.lately = keep_lately(self._settings, folder=folder)
        except BadInput as error:  # it is looked into all the same
            self.message = str(error)

    def drop_new(self) -> None:
        """Go back from a reel that is being started; nothing of it is left."""
        if self.new is not None:
            self.new.close()
            self.new = None

    def step_back(self) -> None:
        """Go back from a reel that is being started, else to the reel at work."""
        if self.new is not None:
            self.drop_new()
            self.browser.wants_keyboard = True
        elif self.current is not None:
            self.go_back()

    def pick_sound(self) -> None:
        """Look for the sound of the new reel."""
        self.stop_picking()
        self.picking = Picking("sound", Browser(self.browser.folder, TO_HEAR, self._wake))

    def pick_place(self) -> None:
        """Look for a place for the new reel."""
        self.stop_picking()
        if self.new is not None:
            file = self.new.reel_file
            browser = Browser(file.parent, frozenset({"reel"}), self._wake, saves=file.name)
            self.picking = Picking("place", browser)

    def picked(self, path: Path) -> None:
        """Take the file that was looked for."""
        picking, new = self.picking, self.new
        self.stop_picking()
        if picking is None or new is None:
            return
        if picking.what == "sound":
            new.choose(sound=path)
        else:
            new.save_as(str(path))

    def stop_picking(self) -> None:
        """Look for no file any more."""
        if self.picking is not None:
            self.picking.browser.close()
            self.picking = None

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


def _holds_stills(folder: Path) -> bool:
    try:
        return bool(sequences_in(folder))
    except OSError:  # who looks into it tells why that cannot be
        return False
