"""Undo and redo without end: every value that there has been. A drag is one step, however long."""

from __future__ import annotations

from typing import Generic, TypeVar

Value = TypeVar("Value")


class History(Generic[Value]):
    """A value as it is `now`, those before it and those undone: the desk's reel, a mapping of joysticks."""

    def __init__(self, value: Value) -> None:
        self.now = value
        self._before: list[Value] = []
        self._undone: list[Value] = []
        self._drag: object = None

    def edit(self, value: Value, drag: object = None) -> None:
        """Take `value` as the newest. Edits of the same `drag`, one right after the other, are one step."""
        if value == self.now:
            return
        if drag is None or drag != self._drag:
            self._before.append(self.now)
        self._drag = drag
        self.now = value
        self._undone.clear()

    def end_drag(self) -> None:
        """Let the next edit be a step of its own."""
        self._drag = None

    @property
    def can_undo(self) -> bool:
        """Whether there is a value before this one."""
        return bool(self._before)

    @property
    def can_redo(self) -> bool:
        """Whether a value has been undone."""
        return bool(self._undone)

    def undo(self) -> None:
        """Go back a step; do nothing where there is none."""
        self.end_drag()
        if self._before:
            self._undone.append(self.now)
            self.now = self._before.pop()

    def redo(self) -> None:
        """Go forward again; do nothing where nothing was undone."""
        self.end_drag()
        if self._undone:
            self._before.append(self.now)
            self.now = self._undone.pop()
