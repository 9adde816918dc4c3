"""What is heard follows what the desk holds, as what is shown does."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from lamphouse.graph.reel.counters import counter
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.sound.player import Player

NONE: Final = "This reel has no sound; a new reel with --sound has."
AGAIN: Final = "Switch the sound off and on to try again."


class DeskSound:
    """Keeps the sound in step with the desk: the reel's own, which is what a transfer delivers."""

    def __init__(self, desk: Desk, wake: Callable[[], None]) -> None:
        ref, path = desk.reel.sound, desk.opened.sound_path
        self._player: Player | None = None
        if ref is not None and path is not None:
            self._player = Player(path, ref.starts_at, counter(desk.reel).rate, wake)

    def follow(self, desk: Desk, *, is_on: bool) -> str:
        """Tell the sound how the reel moves now; return why there is none, or nothing."""
        player = self._player
        if player is None:
            return NONE
        player.follow(desk.transport, is_on=is_on)
        trouble = player.trouble
        desk.troubles.put("sound", trouble if player.is_about_file else "")
        return f"{trouble} {AGAIN}" if trouble else ""

    def close(self) -> None:
        """Let the thread, the device and the file go."""
        if self._player is not None:
            self._player.close()
