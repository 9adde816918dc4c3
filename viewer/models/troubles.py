"""What is wrong at the moment, one sentence for each thing that can be: it goes away when that is past.

What is said of something that went well, or that there is nothing to do, passes by itself; what went wrong
stays until the next is done.
"""

from __future__ import annotations

from typing import Final, Literal

Where = Literal[
    "scan", "copy", "survey", "chain", "matte", "other", "judge", "sound", "recovery", "file", "hand"
]
ORDER: Final[tuple[Where, ...]] = (
    "scan",
    "copy",
    "survey",
    "chain",
    "other",
    "judge",
    "sound",
    "recovery",
    "file",
    "hand",
)
SHOWN: Final = 8_000_000_000  # nanoseconds in which also who looks up late has read it (our choice)


class Troubles:
    """Sentences by what they are about; `hand` is the answer to what was done last."""

    def __init__(self) -> None:
        self._sentences: dict[Where, str] = dict.fromkeys(ORDER, "")
        self._passes = False
        self._since: int | None = None  # when it was seen first

    def put(self, where: Where, message: str) -> None:
        """Say what is wrong there now; nothing where all is well again."""
        self._sentences[where] = message
        if where == "hand":
            self._passes = False

    def say(self, message: str) -> None:
        """Say of what was done last that it went well, or had nothing to do; it passes by itself."""
        self.put("hand", message)
        self._passes, self._since = True, None

    def pass_by(self, now: int) -> bool:
        """Take away what has been said for long enough by a time of the clock; return whether it was."""
        if not self._passes:
            return False
        self._since = now if self._since is None else self._since
        if now - self._since < SHOWN:
            return False
        self.put("hand", "")
        return True

    def of(self, where: Where) -> str:
        """Return what is wrong there, or nothing."""
        return self._sentences[where]

    @property
    def lines(self) -> tuple[str, ...]:
        """All that is wrong, and the answer to what was done last, without any of it twice."""
        return tuple(dict.fromkeys(message for message in self._sentences.values() if message))
