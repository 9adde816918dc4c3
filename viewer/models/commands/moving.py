"""How the film moves, and where it goes."""

from __future__ import annotations

from typing import Final

from lamphouse.viewer.models.commands.command import Command, timed
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels


def _last(desk: Desk, panels: Panels, now: int) -> None:
    desk.go_to(desk.reel.scan.frames - 1, now)


MOVING: Final = (
    Command("play", "Space", "Play, or stop.", timed(Desk.play)),
    Command("shuttle_back", "J", "Shuttle back, faster with every press.", timed(Desk.shuttle, -1)),
    Command("stop", "K", "Stop.", timed(Desk.stop)),
    Command("shuttle_on", "L", "Shuttle on, faster with every press.", timed(Desk.shuttle, 1)),
    Command("reverse", "R", "Play backwards.", timed(Desk.reverse)),
    Command("step_back", "Left", "One frame back.", timed(Desk.step, -1), repeats=True),
    Command("step_on", "Right", "One frame on.", timed(Desk.step, 1), repeats=True),
    Command("previous_cue", "Page Up", "The cue before.", timed(Desk.go_to_cue, -1), repeats=True),
    Command("next_cue", "Page Down", "The next cue.", timed(Desk.go_to_cue, 1), repeats=True),
    Command("first_frame", "Home", "The first frame.", timed(Desk.go_to, 0)),
    Command("last_frame", "End", "The last frame.", _last),
)
