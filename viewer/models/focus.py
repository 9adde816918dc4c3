"""Who has the keyboard: the film, whose keys are the commands, or the panels, and which of them next."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

FIRST: Final = "transport"  # the part of the window that Tab gives it to


@dataclass(slots=True)
class Focus:
    """Tab gives the keyboard to the panels, Escape or a click gives it back to the film."""

    is_given: bool = False
    wanted: str = ""  # the part of the window that takes it next
    is_busy: bool = (
        False  # whether Escape ended a field, a list or a drag in the panels, or Tab belongs there
    )

    def give(self, part: str = FIRST) -> None:
        """Give the keyboard to a part of the window, or with nothing to what takes it by itself."""
        self.is_given, self.wanted = True, part

    def take_back(self) -> None:
        """Give it back to the film."""
        self.is_given, self.wanted = False, ""
