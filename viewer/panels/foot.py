"""The foot of the picture: how it is looked at, and how its monitor is driven."""

from __future__ import annotations

from typing import Final

from imgui_bundle import imgui

from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.panels.buttons import command_button
from lamphouse.viewer.panels.command_list import command_list
from lamphouse.viewer.panels.screens import screens

BUTTONS: Final = (
    ("true_pixels", "1:1"),
    ("loupe", "loupe"),
    ("matte", "matte"),
)


def foot(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Draw the buttons below the picture."""
    for name, label in BUTTONS:
        command_button(name, label, desk, panels, seen)
        imgui.same_line()
    command_list(desk, panels, seen)
    imgui.same_line()
    screens(desk, panels, seen)
