"""What is heard follows what the desk holds, as what is shown does."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final

from lamphouse.graph.reel.counters import counter
from lamphouse.graph.reel.sound_place import SoundPlace, sound_place
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.hearing import MUTED, NO_DEVICE, NO_SOUND, SILENT, Hearing
from lamphouse.viewer.sound.pip_search import PipSearch
from lamphouse.viewer.sound.player import PATIENCE, Player

NONE: Final = "This reel has no sound; a new reel with --sound has."
AGAIN: Final = "Switch the sound off and on to try again."

SPEED: Final = "Sound is heard at the film's own speed, either way, and frame by frame: not at {:g} times it."


class DeskSound:
    """Keeps the sound in step with the desk: the reel's own, which is what a transfer delivers."""

    def __init__(self, desk: Desk, wake: Callable[[], None]) -> None:
        self._wake = wake
        self._heard: _Heard | None = None
        self._follow_reel(desk)

    def follow(self, desk: Desk, *, is_on: bool, level: float = 0.0) -> Hearing:
        """Tell the sound how the reel moves now, and how loud it is in decibels; return what is heard."""
        place, heard = self._follow_reel(desk), self._heard
        if heard is None or place is None:
            return Hearing(NO_SOUND, NONE)
        player = heard.player
        player.follow(desk.transport, place.begins, is_on=is_on, level=level)
        desk.pip = heard.pips.seconds
        trouble = player.trouble
        desk.troubles.put("sound", trouble if player.is_about_file else "")
        if trouble:
            return Hearing(NO_SOUND if player.is_about_file else NO_DEVICE, f"{trouble} {AGAIN}")
        if not is_on:
            return Hearing(MUTED, "The sound is muted.")
        speed = desk.transport.speed
        return Hearing() if abs(speed) in (0, 1) else Hearing(SILENT, SPEED.format(float(speed)))

    def _follow_reel(self, desk: Desk) -> SoundPlace | None:
        """Return where the sound of the reel lies as it is now; another file or speed is opened anew."""
        place, path, rate = sound_place(desk.reel), desk.opened.sound_path, counter(desk.reel).rate
        if place is None or path is None:
            self.close()
            return None
        heard = self._heard
        if heard is None or (heard.path, heard.place.recorded) != (path, place.recorded):
            self.close()
            player = Player(path, rate, rate / place.recorded, self._wake)
            self._heard = _Heard(path, place, player, self._wake)
        return place

    def close(self) -> None:
        """Let the threads, the device and the file go."""
        if self._heard is not None:
            self._heard.close()
            self._heard = None


class _Heard:
    """One sound: played, and its sync pip looked for."""

    def __init__(self, path: Path, place: SoundPlace, player: Player, wake: Callable[[], None]) -> None:
        self.path, self.place, self.player = path, place, player
        self.pips = PipSearch(path, place.recorded, wake)

    def close(self) -> None:
        self.player.close()
        self.pips.close(PATIENCE)
