"""The picture that the graded one is held against: other settings, a kept still, or a finished master's own.

It has a canvas of its own, drawn only while somebody looks, and only when what it shows has changed.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import Any

from lamphouse.graph.edit import cue_at
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.values import Settings
from lamphouse.viewer.models.comparison import COPIED, GRADED, MASTER, STILL
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.screen import Screen
from lamphouse.viewer.picture.finished import Finished, Part
from lamphouse.viewer.picture.painter import WHOLE, Canvas
from lamphouse.viewer.picture.reader import Answer, Picture, Reader, Wish

# Draws what settings make of the scan's frame, at a raster, into a canvas; None are as scanned.
Chain = Callable[[Canvas, int, Settings | None], None]


class Other:
    """Keeps its canvas, and `Screen.other`, what the desk's comparison says. On the thread of GL."""

    def __init__(self, desk: Desk, screen: Screen, canvas: Canvas, wake: Callable[[], None]) -> None:
        self._desk, self._screen, self._canvas, self._wake = desk, screen, canvas, wake
        self._master: _Master | None = None
        self._drawn: Any = None
        self._kept: Any = None

    def close(self) -> None:
        """Let the thread that reads a master go."""
        if self._master is not None:
            self._master.close(is_waited=True)

    @property
    def is_settled(self) -> bool:
        """Whether it is what the desk's comparison says."""
        return not self._is_of_master or (self._master is not None and self._master.is_here)

    @property
    def _is_of_master(self) -> bool:
        comparison = self._desk.comparison
        is_chosen = comparison.against == MASTER and comparison.master is not None
        return comparison.way != GRADED and is_chosen

    def ask(self, wish: Wish | None) -> None:
        """Ask a master for the frame of the scan's `wish`, at the coarsest of its rasters while it moves."""
        path = self._desk.comparison.master
        if not self._is_of_master or path is None or wish is None:
            if self._master is not None:
                self._master.wish = None
            return
        if self._master is None or self._master.path != path:
            if self._master is not None:
                self._master.close(is_waited=False)
            self._master = _Master(path, self._desk, self._wake)
        self._master.ask(Wish(wish.frame, (min(wish.divides),)))

    def draw(self, divide: int, frame: object, chain: Chain) -> None:
        """Draw it where it has changed; `frame` is the identity of what the scan's pictures are of."""
        if self._master is not None:
            self._master.take()
        if self._desk.comparison.way == GRADED:
            self._screen.other.said = ""
            return
        try:
            self._follow(divide, frame, chain)
        except BadInput as error:
            self._lack(str(error))
        except Exception as error:  # whatever a plug-in or a driver does, the desk lives on
            self._lack(f"What the picture is held against cannot be drawn ({error}); choose another.")

    def read(self) -> None:
        """Read back what was drawn, once, where the pointer asks for its values."""
        other = self._screen.other
        if other.picture is None and other.part is not None and self._screen.picture.is_on_other:
            other.picture = self._canvas.read()

    def _follow(self, divide: int, frame: object, chain: Chain) -> None:
        desk, still = self._desk, self._screen.still
        against = desk.comparison.against
        if against == MASTER:
            self._show_master()
        elif against == STILL and still is not None:
            if self._is_new(id(still), still):
                self._canvas.write(still)
                self._have(still)
        else:
            try:
                settings = compared(desk)
            except BadInput:
                self._drawn = None  # what was drawn before is to be drawn again
                raise
            if not self._is_new((settings, desk.reel.chain, divide, frame)):
                return
            chain(self._canvas, divide, settings)
            self._have()

    def _show_master(self) -> None:
        master = self._master
        answer = master.answer if master is not None else None
        if not self._is_new((id(master), id(answer)), (master, answer)):
            return
        if master is None:
            self._lack("No master has been chosen yet.")
        elif answer is None:
            self._lack(f"{master.path.name} is being opened.")
        elif not answer.pictures:
            self._lack(answer.said)
        else:
            (picture,) = answer.pictures.values()
            self._canvas.write(picture)
            self._have(picture, master.part)

    def _is_new(self, wanted: Any, kept: Any = None) -> bool:
        """Say whether something else was drawn; what `wanted` knows by its identity is `kept` alive."""
        wanted = (self._desk.comparison.against, wanted)
        is_new: bool = wanted != self._drawn
        self._drawn, self._kept = wanted, kept
        return is_new

    def _have(self, picture: Picture | None = None, part: Part = WHOLE) -> None:
        other = self._screen.other
        other.picture, other.part, other.said = picture, part, ""

    def _lack(self, said: str) -> None:
        other = self._screen.other
        other.picture, other.part, other.said = None, None, said


def compared(desk: Desk) -> Settings | None:
    """Return the settings that the picture is held against: those of the copied cue, or None for the scan.

    Raises BadInput where that cue is gone.
    """
    if desk.comparison.against != COPIED:
        return None
    frame = desk.comparison.copied
    copied = cue_at(desk.reel, frame) if frame is not None else None
    if copied is None:
        raise BadInput("The cue that was copied is not there any more; copy one again.")
    return desk.cues.held(desk.cues.holding(copied.frame))


class _Master:
    """A finished master read on a thread of its own, and the newest of its answers."""

    def __init__(self, path: Path, desk: Desk, wake: Callable[[], None]) -> None:
        self.path = path
        self.wish: Wish | None = None
        self.answer: Answer | None = None
        self.part = WHOLE
        self._answers: SimpleQueue[tuple[Answer, Part]] = SimpleQueue()
        self._finished: Finished | None = None
        reel = desk.reel

        def opened() -> Finished:
            self._finished = Finished(path, reel)
            return self._finished

        def answered(answer: Answer) -> None:
            self._answers.put((answer, self._finished.part if self._finished is not None else WHOLE))
            wake()

        self._reader = Reader(opened, answered)

    def close(self, *, is_waited: bool) -> None:
        self._reader.close(is_waited=is_waited)

    @property
    def is_here(self) -> bool:
        return self.answer is not None and self.answer.wish == self.wish

    def ask(self, wish: Wish) -> None:
        if wish != self.wish:
            self.wish = wish
            self._reader.ask(wish)

    def take(self) -> None:
        while True:
            try:
                self.answer, self.part = self._answers.get_nowait()
            except Empty:
                return
