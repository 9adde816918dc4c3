"""A file that others may write, looked at now and then: one question to the system, and no reading."""

from __future__ import annotations

from pathlib import Path
from typing import Final

EVERY: Final = 1_000_000_000  # nanoseconds between two looks
Stamp = tuple[int, int, int] | None


class Watch:
    """What a file looked like when it was last known, and whether it still does."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._looked_at: int | None = None
        self._known = self._stamp()

    def looks(self, now: int) -> bool:
        """Say whether it is time to look again; asked in every turn."""
        if self._looked_at is not None and now - self._looked_at < EVERY:
            return False
        self._looked_at = now
        return True

    @property
    def is_other(self) -> bool:
        """Whether the file is another than the one that is known."""
        return self._stamp() != self._known

    def know(self) -> None:
        """Take the file as it is now for the one that is known."""
        self._known = self._stamp()

    def _stamp(self) -> Stamp:
        try:
            facts = self._path.stat()
        except OSError:
            return None
        return facts.st_ino, facts.st_size, facts.st_mtime_ns
