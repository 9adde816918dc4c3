"""What the picture is compared with."""

from __future__ import annotations

from typing import Final

from lamphouse.viewer.models.commands.command import Command
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels


def _compared(desk: Desk, panels: Panels, now: int) -> None:
    desk.comparison.flick(now)


def _back(desk: Desk, panels: Panels, now: int) -> None:
    desk.comparison.let_go(now)


def _upright(desk: Desk, panels: Panels, now: int) -> None:
    desk.comparison.upright(panels.picture.middle)


COMPARING: Final = (
    Command("compare", "What it is compared with; held, until let go.", _compared, _back, can_flash=True),
    Command("upright", "The wipe upright in the middle again.", _upright),
)
