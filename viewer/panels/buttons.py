"""Buttons for commands of the desk: what they do and what they say of themselves is the table's."""

from __future__ import annotations

from imgui_bundle import ImVec2, imgui

from lamphouse.viewer.models.commands.table import BY_NAME, run
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.seen import Seen


def command_button(
    name: str, label: str, desk: Desk, panels: Panels, seen: Seen, *, height: float = 0.0, can: bool = True
) -> None:
    """Draw the button of the command `name`; where it cannot be done it is dim."""
    command = BY_NAME[name]
    imgui.begin_disabled(not can)
    if imgui.button(label, ImVec2(0, height)):
        run(command, desk, panels, seen.now)
    imgui.end_disabled()
    imgui.set_item_tooltip(command.tip(panels.keys))
