"""Buttons for commands of the desk: what they do and what they say of themselves is the table's."""

from __future__ import annotations

from typing import Final

from imgui_bundle import ImVec2, imgui

from lamphouse.viewer import colours
from lamphouse.viewer.models.commands.table import BY_NAME, run
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.panels import look
from lamphouse.viewer.panels.draw import line

RING: Final = 4.0  # pixels of its radius


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


def begin_popup_below(name: str) -> bool:
    """Begin the popup `name` below the right edge of the button drawn last; return whether it is open."""
    corner = imgui.get_item_rect_max()
    imgui.set_next_window_pos(ImVec2(corner.x, corner.y + 4), imgui.Cond_.always, ImVec2(1, 0))
    return bool(imgui.begin_popup(name))


def ring_button(label: str, tip: str, scale: float) -> bool:
    """Draw the button that makes something neutral, a ring with four rays; return whether it is pressed."""
    side = imgui.get_frame_height()
    is_pressed = bool(imgui.invisible_button(label, ImVec2(side, side), imgui.ButtonFlags_.enable_nav))
    imgui.set_item_tooltip(tip)
    colour = colours.ACCENT if imgui.is_item_hovered() else colours.TEXT
    low, near = imgui.get_item_rect_min(), RING * scale
    x, y = low.x + side / 2, low.y + side / 2
    imgui.get_window_draw_list().add_circle(ImVec2(x, y), near, look.code(colour), 0, 1.5 * scale)
    for across, down in ((1, 0), (-1, 0), (0, 1), (0, -1)):
        start, stop = ((x + across * far, y + down * far) for far in (1.5 * near, 2.3 * near))
        line(start, stop, colour, scale)
    return is_pressed
