"""What is seen of the picture, the chain and the pages."""

from __future__ import annotations

from typing import Final

from lamphouse.viewer.models.area import turn_true
from lamphouse.viewer.models.commands.command import Act, Command
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.mattes import matte_node, nudge
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


def _matte_shown(desk: Desk, panels: Panels, now: int) -> None:
    """Show the open matte over the picture, then alone, then not."""
    held = panels.mattes
    held.seen = "over" if not held.seen else "alone" if held.seen == "over" else ""
    if held.seen and matte_node(desk, panels.node) is None:
        desk.message = "Open a matte, or a node that takes one: it is the one that is shown."


def _matte_nudged(by: tuple[float, float]) -> Act:
    def nudged(desk: Desk, panels: Panels, now: int) -> None:
        if not nudge(desk, panels.node, panels.mattes.handle, by):
            desk.message = "Open an ellipse or a graduated matte, or a node that takes one, to move it."

    return nudged


def _loupe_turned(desk: Desk, panels: Panels, now: int) -> None:
    panels.loupe.turn()


def _sharpest(desk: Desk, panels: Panels, now: int) -> None:
    panels.loupe.go(desk, now)


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


STEP: Final = 0.005  # picture heights, as controls of mattes step

NUDGES: Final = tuple(
    Command(f"matte_{way}", f"The matte's handle held last {words}.", _matte_nudged(by), repeats=True)
    for way, words, by in (
        ("left", "to the left", (-STEP, 0.0)),
        ("right", "to the right", (STEP, 0.0)),
        ("up", "up", (0.0, -STEP)),
        ("down", "down", (0.0, STEP)),
    )
)

SHOWING: Final = (
    Command("safe", "The safe areas over the picture, and away.", _safe_shown),
    Command("gate", "The edges of the film's gate, and away.", _gate_shown),
    Command("true_pixels", "A pixel of the scan for each of the monitor, and back.", _true_turned),
    Command("alone", "The picture alone, on the other screen, and away.", _alone_turned),
    Command("loupe", "The loupe: 2, 4, 8 times as large, and away.", _loupe_turned),
    Command("sharpest", "The frame of the shot that is sharpest under the loupe.", _sharpest),
    Command("matte", "The open matte over the picture, then as grey, then away.", _matte_shown),
    Command(
        "matte_left", "The matte's handle held last to the left.", _matte_nudged((-STEP, 0)), repeats=True
    ),
    Command(
        "matte_right", "The matte's handle held last to the right.", _matte_nudged((STEP, 0)), repeats=True
    ),
    Command("matte_up", "The matte's handle held last up.", _matte_nudged((0, -STEP)), repeats=True),
    Command("matte_down", "The matte's handle held last down.", _matte_nudged((0, STEP)), repeats=True),
    Command("judge", "Stripes and scopes of the delivered picture, or of the grade.", _judged),
    Command("help", "This page.", _helped, works_in_field=True),
    Command("sticks", "What the joysticks move, and how to change it.", _mapped, works_in_field=True),
    Command("chain", "The chain under the picture, and away.", _chain_shown, works_in_field=True),
    Command(
        "balances",
        "The balances take the keyboard: arrows push, Return types, Backspace is neutral.",
        _balances_focused,
        works_in_field=True,
        is_for_sticks=False,
    ),
    Command("larger", "Larger text.", _text_resized(1), works_in_field=True, is_for_sticks=False),
    Command("smaller", "Smaller text.", _text_resized(-1), works_in_field=True, is_for_sticks=False),
)
