"""What is seen of the picture, the chain and the pages."""

from __future__ import annotations

from typing import Final

from lamphouse.viewer.models.area import turn_true
from lamphouse.viewer.models.commands.command import Act, Command
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.screens import Guide


def _chain_shown(desk: Desk, panels: Panels, now: int) -> None:
    panels.chain.is_open = not panels.chain.is_open


def _helped(desk: Desk, panels: Panels, now: int) -> None:
    panels.helps = not panels.helps
    if not panels.helps:
        panels.focus.take_back()


def _mapped(desk: Desk, panels: Panels, now: int) -> None:
    panels.sticks.turn()


def _guide_turned(desk: Desk, panels: Panels, guide: Guide) -> None:
    panels.screens.desk.guides ^= {guide}
    desk.message = panels.screens.keep()


def _safe_shown(desk: Desk, panels: Panels, now: int) -> None:
    _guide_turned(desk, panels, "safe")


def _gate_shown(desk: Desk, panels: Panels, now: int) -> None:
    _guide_turned(desk, panels, "gate")


def _alone_turned(desk: Desk, panels: Panels, now: int) -> None:
    panels.screens.is_alone_shown = not panels.screens.is_alone_shown


def _true_turned(desk: Desk, panels: Panels, now: int) -> None:
    turn_true(desk, panels.picture)


def _judged(desk: Desk, panels: Panels, now: int) -> None:
    panels.judges = not panels.judges
    if panels.judges and panels.picture.delivery is None:
        desk.message = "Choose the delivery whose frame is shown: it is the one that is judged."


def _balances_focused(desk: Desk, panels: Panels, now: int) -> None:
    panels.focus.give("grips")


def _text_resized(way: int) -> Act:
    def resize(desk: Desk, panels: Panels, now: int) -> None:
        desk.message = panels.preferred.resize(way)

    return resize


SHOWING: Final = (
    Command("safe", "The safe areas over the picture, and away.", _safe_shown),
    Command("gate", "The edges of the film's gate, and away.", _gate_shown),
    Command("true_pixels", "A pixel of the scan for each of the monitor, and back.", _true_turned),
    Command("alone", "The picture alone, on the other screen, and away.", _alone_turned),
    Command("judge", "Stripes and scopes of the delivered picture, or of the grade.", _judged),
    Command("help", "This page.", _helped, works_in_field=True),
    Command("sticks", "What the joysticks move, and how to change it.", _mapped, works_in_field=True),
    Command("chain", "The chain under the picture, and away.", _chain_shown, works_in_field=True),
    Command(
        "balances",
        "The balances and masters take the keyboard: Tab goes on, arrows push, Return types, Escape leaves.",
        _balances_focused,
        works_in_field=True,
        is_for_sticks=False,
    ),
    Command("larger", "Larger text.", _text_resized(1), works_in_field=True, is_for_sticks=False),
    Command("smaller", "Smaller text.", _text_resized(-1), works_in_field=True, is_for_sticks=False),
)
