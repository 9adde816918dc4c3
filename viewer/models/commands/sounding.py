"""The sound beside the picture."""

from __future__ import annotations

from typing import Final

from lamphouse.viewer.models.commands.command import Act, Command, done
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.sounding import MILLISECOND, STEP, louder, move_sound, pip_here


def _sound_switched(desk: Desk, panels: Panels, now: int) -> None:
    panels.hears = not panels.hears


def _louder(by: float) -> Act:
    def turn(desk: Desk, panels: Panels, now: int) -> None:
        desk.message = louder(panels.preferred, by)

    return turn


SOUNDING: Final = (
    Command("sound", "Mute the sound, or hear it.", _sound_switched),
    Command("louder", "The sound louder.", _louder(STEP), repeats=True),
    Command("softer", "The sound softer.", _louder(-STEP), repeats=True),
    Command("sound_later", "The sound a frame later.", done(move_sound, 1), repeats=True),
    Command("sound_earlier", "The sound a frame earlier.", done(move_sound, -1), repeats=True),
    Command(
        "sound_little_later",
        "The sound a millisecond later.",
        done(move_sound, 0, MILLISECOND),
        repeats=True,
    ),
    Command(
        "sound_little_earlier",
        "The sound a millisecond earlier.",
        done(move_sound, 0, -MILLISECOND),
        repeats=True,
    ),
    Command("pip_here", "The sync pip of the sound at this frame.", done(pip_here), is_here=True),
)
