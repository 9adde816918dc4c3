"""What one window shows by turns: the start page, and the reel that is at work."""

from __future__ import annotations

from pathlib import Path

from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.commands.working import leave
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.starting import Starting
from lamphouse.viewer.window.session import Session
from lamphouse.viewer.window.start_view import StartView
from lamphouse.viewer.window.window import Window


def made_desk(reel_file: Path, master: Path | None = None) -> Desk:
    """Return a desk with the reel in a file, and a master to compare it with. Raises BadInput."""
    desk = Desk(open_reel(reel_file))
    if master is not None:
        if not master.exists():
            raise BadInput(f"{master} does not exist; give the file or the folder of a finished master.")
        desk.comparison.choose_master(master)
    return desk


class Pages:
    """The start page and at most one reel, which is asked about and closed before the next is opened."""

    def __init__(self, window: Window, starting: Starting) -> None:
        self._window, self._starting = window, starting
        self._start = StartView(window, starting)
        self.session: Session | None = None
        self._is_at_start = True
        self._next: Desk | None = None  # which waits for the reel that is at work to be left
        self.is_over = False

    @property
    def is_settled(self) -> bool:
        """Whether what is shown has come to rest."""
        return self._shown.is_settled

    @property
    def _shown(self) -> Session | StartView:
        return self._start if self._is_at_start or self.session is None else self.session

    def open(self, desk: Desk) -> Session:
        """Begin to work on a reel."""
        self._starting.opened(desk.opened)
        self.session, self._is_at_start, self._next = Session(self._window, desk), False, None
        self.session.begin()
        return self.session

    def turn(self, *, is_woken: bool = True) -> int:
        """Do what is due of what is shown, and go where the person wants to be."""
        shown = self._shown
        sleep = shown.turn(is_woken=is_woken)
        if shown is self.session:
            self._follow_reel(self.session)
        else:
            self._follow_start()
        return sleep if self._shown is shown else 0

    def close(self) -> None:
        """Close the page and the reel that is at work."""
        self._start.close()
        self._close_reel()

    def _close_reel(self) -> None:
        if self.session is not None:
            self.session.keep_picture()
            self.session.close()
            self.session = None

    def _follow_reel(self, session: Session) -> None:
        panels = session.panels
        if session.is_over:
            self._left()
        elif panels.menu.wants is not None:
            wanted, panels.menu.wants = panels.menu.wants, None
            session.desk.message = self._wish_for(wanted)
        elif panels.goes_to_start:
            panels.goes_to_start = False
            session.rest()
            session.keep_picture()
            self._go_to_start()
        elif not panels.asks_to_quit:
            self._next = None  # the question was answered by going on working

    def _follow_start(self) -> None:
        wish = self._starting.take_wish()
        if wish.reel is not None:
            self._starting.message = self._wish_for(wish.reel)
        elif wish.leaves:
            self._leave()
        elif wish.goes_back and self.session is not None:
            self._go_to_reel(self.session)

    def _wish_for(self, reel_file: Path) -> str:
        """Go to a reel, once the one that is at work may be left; return why that cannot be, or nothing."""
        session = self.session
        if session is not None and _is_same(session.desk.reel_file, reel_file):
            self._go_to_reel(session)
            return ""
        try:
            self._next = made_desk(reel_file)
        except BadInput as error:
            return str(error)
        self._leave()
        return ""

    def _leave(self) -> None:
        """Leave the reel that is at work, after a question where something of it is not saved."""
        session = self.session
        if session is None:
            self._left()
            return
        leave(session.desk, session.panels)
        if session.is_over:
            self._left()
        else:
            self._go_to_reel(session)

    def _left(self) -> None:
        wanted = self._next
        self._close_reel()
        if wanted is None:
            self.is_over = True
        else:
            self.open(wanted)

    def _go_to_start(self) -> None:
        self._is_at_start = True
        self._starting.come(self.session.desk.opened if self.session else None)
        self._start.show()

    def _go_to_reel(self, session: Session) -> None:
        self._is_at_start = False
        session.show()


def _is_same(one: Path, other: Path) -> bool:
    return one.exists() and other.exists() and one.samefile(other)
