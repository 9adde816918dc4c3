"""The menu of what leaves: a still, a LUT or a CDL, a report, the reel itself under another name; and a list
that comes in.

Each is made by the function of its command, on a thread that can be stopped.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final, Literal, get_args

from lamphouse.graph.handover.cue_lut import write_lut
from lamphouse.graph.handover.frame_still import write_frame
from lamphouse.graph.handover.reel_facts import facts_lines, facts_of
from lamphouse.graph.media.master.delivery import delivery
from lamphouse.graph.media.master.record import master_of
from lamphouse.graph.progress import Step
from lamphouse.graph.reel.records import Cue, Reel
from lamphouse.viewer.models.arriving_list import ArrivingList, read_arriving
from lamphouse.viewer.models.browsing import Browser, Kind
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.saving import free_name, save_as, save_elsewhere
from lamphouse.viewer.models.work import Work

Page = Literal["still", "lut", "report", "list", "save as", "facts"]
Picture = Literal["graded", "as scanned", "as delivered"]
PICTURES: Final[tuple[Picture, ...]] = get_args(Picture)
POINTS: Final = (17, 33, 65)
_MASTERS: Final[frozenset[Kind]] = frozenset({"movie", "stills"})


def _nobody() -> None:
    """Wake nobody."""


@dataclass(slots=True)
class Menu:
    """What the menu shows and what has been chosen in it. `wake` is called on other threads."""

    wake: Callable[[], None] = _nobody
    is_open: bool = False
    page: Page = "still"
    picture: Picture = "graded"
    delivered: str = ""  # the delivery that a still is as
    points: int | None = None
    fit: bool = False
    master: Path | None = None  # to be reported on
    arriving: ArrivingList | None = None  # once it has been read
    browser: Browser | None = None
    said: str = ""
    wants: Path | None = None  # a reel that is to be opened in place of this one
    _work: Work[str | ArrivingList] | None = field(default=None, repr=False)
    _facts: tuple[Reel, dict[str, str]] | None = field(default=None, repr=False)

    def facts(self, desk: Desk) -> dict[str, str]:
        """Return what the reel holds, in words; its files are looked for once."""
        if self._facts is None or self._facts[0] is not desk.reel:
            self._facts = (desk.reel, facts_lines(facts_of(desk.opened)))
        return self._facts[1]

    @property
    def work(self) -> Work[str | ArrivingList]:
        """What is being made, or read."""
        if self._work is None:
            self._work = Work(self.wake)
        return self._work

    def take_news(self) -> bool:
        """Take what the threads have brought; say whether it was anything."""
        has_news = self.browser is not None and self.browser.take_news()
        if self._work is None:
            return has_news
        has_news |= self._work.take_progress()
        outcome = self._work.take()
        result = outcome.result if outcome is not None else None
        if isinstance(result, ArrivingList):
            self.arriving = result
        elif outcome is not None:
            self.said = result or outcome.reason
            if self.browser is not None:
                self.browser.go(self.browser.folder)  # what was written is there now
        return has_news or outcome is not None

    def close(self) -> None:
        """Let the threads go."""
        if self._work is not None:
            self._work.close()
        self.stop_browsing()

    def stop_browsing(self) -> None:
        """Look into no folder any more."""
        if self.browser is not None:
            self.browser.close()
            self.browser = None


def open_menu(menu: Menu, desk: Desk) -> None:
    """Open the menu where it was, or close it; what is being made goes on."""
    menu.is_open = not menu.is_open
    if menu.is_open:
        turn_to(menu, desk, menu.page)
    else:
        menu.stop_browsing()


def turn_to(menu: Menu, desk: Desk, page: Page) -> None:
    """Show a page of the menu."""
    folder = menu.browser.folder if menu.browser is not None else desk.reel_file.absolute().parent
    menu.page, menu.master, menu.arriving, menu._facts = page, None, None, None
    menu.said = "" if not menu.work.is_under_way else menu.said
    menu.stop_browsing()
    stem = desk.reel_file.stem
    if page == "still":
        at = desk.readings().timecode.replace(":", "-").replace(";", "-")
        menu.browser = Browser(folder, frozenset({"stills"}), menu.wake, saves=f"{stem}-{at}.png")
    elif page == "lut":
        cue = desk.holding
        name = _in_its_letters(cue.name or str(cue.frame)) if cue else ""
        menu.browser = Browser(folder, frozenset({"list", "other"}), menu.wake, saves=f"{stem}-{name}.cube")
    elif page == "report":
        menu.browser = Browser(folder, _MASTERS, menu.wake)
    elif page == "list":
        menu.browser = Browser(folder, frozenset({"list"}), menu.wake)
    elif page == "save as":
        menu.browser = Browser(folder, frozenset({"reel"}), menu.wake, saves=free_name(desk))


def take(menu: Menu, desk: Desk, path: Path) -> None:
    """Take the file that was chosen for the page that is shown."""
    if menu.page == "still":
        _make_still(menu, desk, path)
    elif menu.page == "lut":
        _make_lut(menu, desk, path)
    elif menu.page == "report":
        _take_for_report(menu, desk, path)
    elif menu.page == "list":
        _read_list(menu, desk, path)
    elif menu.page == "save as":
        _save_as(menu, desk, path)


def _make_still(menu: Menu, desk: Desk, path: Path) -> None:
    opened, frame, place = desk.opened, desk.frame, desk.readings().timecode
    before, name = menu.picture == "as scanned", menu.delivered
    is_delivered = menu.picture == "as delivered"
    if is_delivered and not name:
        menu.said = "Choose the delivery that the still is to be as."
        return
    words = f"as {name} delivers it" if is_delivered else menu.picture

    def make(step: Step) -> str:
        chosen = delivery(name, opened.reel.deliveries) if is_delivered else None
        notes = write_frame(opened, frame, path, before=before, delivery=chosen)
        return " ".join((f"{path.name} is the frame at {place}, {words}.", *notes))

    menu.said = ""
    menu.work.begin(make)


def _make_lut(menu: Menu, desk: Desk, path: Path) -> None:
    cue: Cue | None = desk.holding
    if cue is None:
        menu.said = "No cue holds here; set one first, or go to one."
        return
    opened, held, is_table = desk.opened, cue, path.suffix.lower() in (".cube", ".clf")
    points, fit = menu.points if is_table else None, menu.fit and not is_table

    def make(step: Step) -> str:
        left = write_lut(opened, held, path, points, fit=fit)
        return " ".join((left.sentence, *left.notes))

    menu.said = ""
    menu.work.begin(make)


def _take_for_report(menu: Menu, desk: Desk, path: Path) -> None:
    """Take the master, and then the folder for its page."""
    if menu.master is None:
        master = master_of(path)
        menu.stop_browsing()
        menu.master, menu.said = master, ""
        menu.browser = Browser(
            master.parent, frozenset(), menu.wake, saves=f"{master.stem}-report", is_folder=True
        )
        return
    master, reel_file = menu.master, desk.reel_file

    def make(step: Step) -> str:
        from lamphouse.graph.handover.report import write_report
        from lamphouse.graph.media.master.record import load_record

        page = write_report(path, master, load_record(master), reel_file, step)
        return f"{page} shows every shot before and after."

    menu.said = ""
    menu.work.begin(make)


def _read_list(menu: Menu, desk: Desk, path: Path) -> None:
    reel = desk.reel
    menu.said = ""
    menu.work.begin(lambda step: read_arriving(path, reel))


def _save_as(menu: Menu, desk: Desk, path: Path) -> None:
    if path.parent == desk.reel_file.absolute().parent and not path.exists():
        if save_as(desk, path.name):
            menu.is_open = False
            menu.stop_browsing()
        menu.said = desk.message
        return
    menu.wants = save_elsewhere(desk, path)
    menu.said = "" if menu.wants else desk.message


def _in_its_letters(name: str) -> str:
    """Return the name of a cue as part of the name that is suggested for a file.

    It keeps letters of any script, as `plain_name` does not: the file and its name are the person's own.
    """
    return "".join(letter if letter.isalnum() or letter in " -_." else "-" for letter in name).strip()
