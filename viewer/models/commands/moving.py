"""How the film moves, and where it goes."""

from __future__ import annotations

from typing import Final

from lamphouse.viewer.models.by_hand import loop_here
from lamphouse.viewer.models.commands.command import Command, timed
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels


def _last(desk: Desk, panels: Panels, now: int) -> None:
    desk.go_to(desk.reel.scan.frames - 1, now)


MOVING: Final = (
    Command("play", "Play, or stop.", timed(Desk.play)),
    Command("shuttle_back", "Shuttle back, faster each time.", timed(Desk.shuttle, -1), can_flash=True),
    Command("stop", "Stop.", timed(Desk.stop)),
    Command("shuttle_on", "Shuttle on, faster each time.", timed(Desk.shuttle, 1), can_flash=True),
    Command("reverse", "Play backwards.", timed(Desk.reverse)),
    Command("step_back", "One frame back.", timed(Desk.step, -1), repeats=True),
    Command("step_on", "One frame on.", timed(Desk.step, 1), repeats=True),
    Command("previous_cue", "The cue before.", timed(Desk.go_to_cue, -1), repeats=True),
    Command("next_cue", "The next cue.", timed(Desk.go_to_cue, 1), repeats=True),
    Command("loop", "Loop the transition that is nearest, else the shot; and no longer.", timed(loop_here)),
    Command("first_frame", "The first frame.", timed(Desk.go_to, 0)),
    Command("last_frame", "The last frame.", _last),
)
