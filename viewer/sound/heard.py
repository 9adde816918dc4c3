"""What is heard follows what the desk holds, as what is shown does."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from lamphouse.graph.cues.place import counter
from lamphouse.graph.store import media_path
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.screen import Screen
from lamphouse.viewer.sound.player import Player

NONE: Final = "This reel has no sound; a new reel with --sound has."
AGAIN: Final = "Switch the sound off and on to try again."


class Heard:
    """Keeps the sound in step with the desk: the reel's own, which is what a transfer delivers."""

    def __init__(self, desk: Desk, screen: Screen, wake: Callable[[], None]) -> None:
        self._desk, self._screen = desk, screen
        ref = desk.reel.sound
        self._player: Player | None = None
        if ref is None:
            screen.unheard = NONE
        else:
            path = media_path(desk.reel_file, ref.path)
            self._player = Player(path, ref.starts_at, counter(desk.reel).rate, wake)
        self._said = ""

    def follow(self) -> None:
        """Tell the sound how the reel moves now, and the screen why there is none."""
        if self._player is None:
            return
        self._player.follow(self._desk.transport, is_on=self._screen.hears)
        trouble = self._player.trouble
        self._screen.unheard = f"{trouble} {AGAIN}" if trouble else ""
        if trouble != self._said:
            self._said = trouble
            if trouble and self._player.is_about_file:
                self._desk.said = trouble

    def close(self) -> None:
        """Let the thread, the device and the file go."""
        if self._player is not None:
            self._player.close()
