"""The work as a whole: undo, save, close."""

from __future__ import annotations

from typing import Final

from lamphouse.viewer.models.commands.command import Command, done
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.leaving_files import open_menu
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.saving import save
from lamphouse.viewer.models.undoing import redo, undo


def leave(desk: Desk, panels: Panels, now: int = 0) -> None:
    """Close the desk, or ask where something is not saved."""
    if panels.recording.is_at_work:
        panels.page = "record"
        desk.message = (
            "A work is under way; wait for its end or stop it (it can be resumed), then close the desk."
        )
        return
    is_saved = desk.is_saved and not panels.sticks.shelf.unkept
    panels.asks_to_quit, panels.is_over = not is_saved, is_saved


def _started(desk: Desk, panels: Panels, now: int) -> None:
    panels.goes_to_start = True


def _copy_turned(desk: Desk, panels: Panels, now: int) -> None:
    desk.message = panels.copying.turn()


def _menu_opened(desk: Desk, panels: Panels, now: int) -> None:
    open_menu(panels.menu, desk)


def _node_removed(desk: Desk, panels: Panels, now: int) -> None:
    if panels.chain.is_open and panels.node:
        desk.take_out(panels.node)


WORKING: Final = (
    Command("undo", "Undo.", undo, repeats=True),
    Command("redo", "Redo.", redo, repeats=True),
    Command("save", "Save.", done(save), works_in_field=True),
    Command(
        "start_page",
        "The page to open or start a reel, and back.",
        _started,
        works_in_field=True,
        is_for_sticks=False,
    ),
    Command(
        "working_copy",
        "The working copy of the scan, for a quicker picture while the film runs, on or off.",
        _copy_turned,
        works_in_field=True,
        is_for_sticks=False,
    ),
    Command(
        "menu",
        "What leaves, and lists that come in: a still, a LUT, a CDL, a report, cues of others.",
        _menu_opened,
        works_in_field=True,
        is_for_sticks=False,
    ),
    Command("leave", "Close the desk.", leave, works_in_field=True, is_for_sticks=False),
    Command(
        "remove_node",
        "Take the open node out of the chain that is shown.",
        _node_removed,
        is_for_sticks=False,
    ),
)
