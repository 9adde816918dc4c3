"""The picture that the graded one is compared with: other settings, a stored still, or a master's own.

It has a canvas of its own, drawn only while somebody looks, and only when what it shows has changed.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import Any

from lamphouse.graph.reel.records import Reel
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.comparison import MASTER, STILL
from lamphouse.viewer.models.seen import OtherPicture, Part
from lamphouse.viewer.picture.finished import Finished
from lamphouse.viewer.picture.painter import FULL, Canvas
from lamphouse.viewer.picture.reader import Reader
from lamphouse.viewer.turn.decide import Drawing
from lamphouse.viewer.turn.display import Compared
from lamphouse.viewer.turn.wishes import Answer, Picture, Wish

NOTHING = OtherPicture()


class Other:
    """Keeps its canvas to what the picture is compared with. On the thread of GL."""

    def __init__(self, reel: Reel, canvas: Canvas, wake: Callable[[], None]) -> None:
        self._reel, self._canvas, self._wake = reel, canvas, wake
        self._master: _Master | None = None
        self._drawn: Any = None
        self._seen, self._lacks = NOTHING, ""

    def close(self) -> None:
        """Let the thread that reads a master go."""
        if self._master is not None:
            self._master.close(is_waited=True)

    @property
    def is_settled(self) -> bool:
        """Whether the master's picture that was asked for has come."""
        return self._master is None or self._master.wish is None or self._master.is_here

    def take(self) -> bool:
        """Take what a master's reader has brought, and say whether it brought anything."""
        return self._master is not None and self._master.take()

    def ask(self, compared: Compared, wish: Wish | None) -> None:
        """Ask a master for the frame of the scan's `wish`, at the coarsest of its rasters while it moves."""
        if compared.kind != MASTER or compared.master is None or wish is None:
            if self._master is not None:
                self._master.wish = None
            return
        if self._master is None or self._master.path != compared.master:
            if self._master is not None:
                self._master.close(is_waited=False)
            self._master = _Master(compared.master, self._reel, self._wake)
        self._master.ask(Wish(wish.frame, (min(wish.divides),)))

    def follow(
        self, compared: Compared, drawing: Drawing, chain: Callable[[Canvas], None]
    ) -> tuple[OtherPicture, str]:
        """Draw it where it has changed, by `chain` where that makes it; return it, or why there is none."""
        if not compared.kind:
            return self._seen, ""
        try:
            self._follow(compared, drawing, chain)
        except BadInput as error:
            self._lack(str(error))
        except Exception as error:  # whatever a plug-in or a driver does, the desk lives on
            self._lack(f"What the picture is compared with cannot be drawn ({error}); choose another.")
        if self._seen.picture is None and self._seen.part is not None and compared.is_read:
            self._seen = OtherPicture(self._canvas.read(), self._seen.part)
        return self._seen, self._lacks

    def _follow(self, compared: Compared, drawing: Drawing, chain: Callable[[Canvas], None]) -> None:
        if compared.kind == MASTER:
            self._show_master()
        elif compared.lacks:
            self._drawn = None  # what was drawn before is to be drawn again
            self._lack(compared.lacks)
        elif compared.kind == STILL and compared.still is not None:
            if self._is_new(compared.kind, _Same(compared.still)):
                self._canvas.write(compared.still)
                self._have(compared.still)
        elif self._is_new(compared.kind, (compared.settings, compared.chain, drawing.divide, drawing.sight)):
            chain(self._canvas)
            self._have()

    def _show_master(self) -> None:
        master = self._master
        answer = master.answer if master is not None else None
        if not self._is_new(MASTER, (_Same(master), _Same(answer))):
            return
        if master is None:
            self._lack("No master has been chosen yet.")
        elif answer is None:
            self._lack(f"{master.path.name} is being opened.")
        elif not answer.pictures:
            self._lack(answer.reason)
        else:
            (picture,) = answer.pictures.values()
            self._canvas.write(picture)
            self._have(picture, master.part)

    def _is_new(self, kind: str, wanted: Any) -> bool:
        is_new: bool = (kind, wanted) != self._drawn
        self._drawn = (kind, wanted)
        return is_new

    def _have(self, picture: Picture | None = None, part: Part = FULL) -> None:
        self._seen, self._lacks = OtherPicture(picture, part), ""

    def _lack(self, reason: str) -> None:
        self._seen, self._lacks = NOTHING, reason


class _Same:
    """Equals nothing but what holds the same object, which it keeps alive."""

    def __init__(self, thing: object) -> None:
        self._object = thing

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other._object is self._object

    def __hash__(self) -> int:
        return id(self._object)


class _Master:
    """A finished master read on a thread of its own, and the newest of its answers."""

    def __init__(self, path: Path, reel: Reel, wake: Callable[[], None]) -> None:
        self.path = path
        self.wish: Wish | None = None
        self.answer: Answer | None = None
        self.part = FULL
        self._answers: SimpleQueue[tuple[Answer, Part]] = SimpleQueue()
        self._finished: Finished | None = None

        def opened() -> Finished:
            self._finished = Finished(path, reel)
            return self._finished

        def answered(answer: Answer) -> None:
            self._answers.put((answer, self._finished.part if self._finished is not None else FULL))
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

    def take(self) -> bool:
        has_news = False
        while True:
            try:
                self.answer, self.part = self._answers.get_nowait()
            except Empty:
                return has_news
            has_news = True
