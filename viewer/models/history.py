"""Undo and redo without end: every reel that the desk has held. A drag is one step, however long."""

from __future__ import annotations

from lamphouse.graph.reel.records import Reel
from lamphouse.viewer.models.drags import Drag


class History:
    """The reel as it is, those before it and those undone."""

    def __init__(self, reel: Reel) -> None:
        self.reel = reel
        self._before: list[Reel] = []
        self._undone: list[Reel] = []
        self._drag: Drag | None = None

    def edit(self, reel: Reel, drag: Drag | None = None) -> None:
        """Take `reel` as the newest. Edits of the same `drag`, one right after the other, are one step."""
        if reel == self.reel:
            return
        if drag is None or drag is not self._drag:
            self._before.append(self.reel)
        self._drag = drag
        self.reel = reel
        self._undone.clear()

    @property
    def can_undo(self) -> bool:
        """Whether there is a reel before this one."""
        return bool(self._before)

    @property
    def can_redo(self) -> bool:
        """Whether a reel has been undone."""
        return bool(self._undone)

    def undo(self) -> None:
        """Go back a step; do nothing where there is none."""
        self._drag = None
        if self._before:
            self._undone.append(self.reel)
            self.reel = self._before.pop()

    def redo(self) -> None:
        """Go forward again; do nothing where nothing was undone."""
        self._drag = None
        if self._undone:
            self._before.append(self.reel)
            self.reel = self._undone.pop()
