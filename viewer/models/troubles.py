"""What is wrong at the moment, one sentence for each thing that can be: it goes away when that is past."""

from __future__ import annotations

from typing import Final, Literal

Where = Literal["scan", "copy", "chain", "other", "judge", "sound", "recovery", "file", "hand"]
ORDER: Final[tuple[Where, ...]] = (
    "scan",
    "copy",
    "chain",
    "other",
    "judge",
    "sound",
    "recovery",
    "file",
    "hand",
)


class Troubles:
    """Sentences by what they are about; `hand` is the answer to what was done last."""

    def __init__(self) -> None:
        self._sentences: dict[Where, str] = dict.fromkeys(ORDER, "")

    def put(self, where: Where, message: str) -> None:
        """Say what is wrong there now; nothing where all is well again."""
        self._sentences[where] = message

    def of(self, where: Where) -> str:
        """Return what is wrong there, or nothing."""
        return self._sentences[where]

    @property
    def lines(self) -> tuple[str, ...]:
        """All that is wrong, and the answer to what was done last, without any of it twice."""
        return tuple(dict.fromkeys(message for message in self._sentences.values() if message))
