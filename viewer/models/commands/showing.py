"""What is seen of the picture, the chain and the pages."""

from __future__ import annotations

from typing import Final

from lamphouse.viewer.models.commands.command import Command
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels


def _chain_shown(desk: Desk, panels: Panels, now: int) -> None:
    panels.chain.is_open = not panels.chain.is_open


def _helped(desk: Desk, panels: Panels, now: int) -> None:
    panels.helps = not panels.helps
    if not panels.helps:
        panels.focus.take_back()


def _mapped(desk: Desk, panels: Panels, now: int) -> None:
    panels.sticks.turn()


def _safe_shown(desk: Desk, panels: Panels, now: int) -> None:
    panels.picture.safe = not panels.picture.safe


def _gate_shown(desk: Desk, panels: Panels, now: int) -> None:
    panels.picture.gate = not panels.picture.gate


def _judged(desk: Desk, panels: Panels, now: int) -> None:
    panels.judges = not panels.judges
    if panels.judges and panels.picture.delivery is None:
        desk.message = "Choose the delivery whose frame is shown: it is the one that is judged."


SHOWING: Final = (
    Command("safe", "The safe areas over the picture, and away.", _safe_shown),
    Command("gate", "The edges of the film's gate, and away.", _gate_shown),
    Command("judge", "Stripes and scopes of the delivered picture, or of the grade.", _judged),
    Command("help", "This page.", _helped, works_in_field=True),
    Command("sticks", "What the joysticks move, and how to change it.", _mapped, works_in_field=True),
    Command("chain", "The chain under the picture, and away.", _chain_shown, works_in_field=True),
)
