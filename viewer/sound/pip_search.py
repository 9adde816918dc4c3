"""The sync pip of a sound, looked for once on a thread of its own."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from threading import Thread

from lamphouse.graph.media.sound.facts import sound_facts
from lamphouse.graph.media.sound.pip import find_pip
from lamphouse.graph.media.sound.read import open_sound


class PipSearch:
    """Looks for the pip of `path`, recorded at so many frames a second; `found` is called on its thread."""

    def __init__(self, path: Path, recorded: Fraction, found: Callable[[], None]) -> None:
        self._path, self._recorded, self._found = path, recorded, found
        self.seconds: Fraction | None = None  # of the sound, once it is found
        self._thread = Thread(target=self._work, name="sync pip", daemon=True)
        self._thread.start()

    def _work(self) -> None:
        try:
            with open_sound(self._path, sound_facts(self._path).rate) as source:
                pip = find_pip(source, self._recorded)
        except Exception:  # whoever plays it says what is wrong with it
            return
        if pip is not None:
            self.seconds = pip.seconds
            self._found()

    def close(self, patience: float) -> None:
        """Wait for its end, but no longer than `patience` seconds: it keeps nothing that must be saved."""
        self._thread.join(patience)
