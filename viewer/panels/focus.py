"""The keyboard, by one rule: Tab gives it to the panels, Escape or a click gives it back to the film.

While they have it a ring shows where it is. Arrows and Tab move the ring, Space presses what is in it, Return
too, or types into it where it is a slider. A question has the keyboard as long as it is open; Escape closes a
page.
"""

from __future__ import annotations

from typing import Final

from imgui_bundle import imgui

from lamphouse.viewer.models.focus import FIRST
from lamphouse.viewer.models.panels import Panels

FLAT: Final = imgui.ChildFlags_.nav_flattened  # of a part of a window: the ring goes in and out of it
_ANY: Final = imgui.PopupFlags_.any_popup


def follow_keyboard(panels: Panels, *, is_asking: bool) -> None:
    """Take Tab, Escape and clicks since the last drawing; while it is the panels', ImGui moves the ring."""
    focus, io = panels.focus, imgui.get_io()
    is_free = not (focus.is_busy or is_asking or (panels.helps and panels.key_page.changing))
    if any(imgui.is_mouse_clicked(button) for button in range(3)):
        focus.take_back()
    elif is_free and imgui.is_key_pressed(imgui.Key.escape, False):
        _escape(panels)
    elif is_free and not focus.is_given and imgui.is_key_pressed(imgui.Key.tab, False):
        focus.give("joysticks" if panels.sticks.is_open else FIRST)
    if focus.is_given or is_asking or imgui.internal.get_top_most_popup_modal() is not None:
        io.config_flags |= imgui.ConfigFlags_.nav_enable_keyboard
    else:
        io.config_flags &= ~imgui.ConfigFlags_.nav_enable_keyboard
        imgui.set_nav_cursor_visible(False)


def rest_keyboard(panels: Panels) -> None:
    """Note, once all is drawn, whether something in the panels takes the next key for itself."""
    panels.focus.is_busy = imgui.is_any_item_active() or imgui.is_popup_open("", _ANY)


def focus_here(panels: Panels, part: str = FIRST) -> None:
    """Give the keyboard to the item that is drawn next, where its part of the window is to have it."""
    if panels.focus.wanted == part:
        panels.focus.wanted = ""
        imgui.set_keyboard_focus_here()
        imgui.set_nav_cursor_visible(True)


def _escape(panels: Panels) -> None:
    """Close the page that is open, and give the keyboard back."""
    panels.helps = False
    if panels.sticks.is_open:
        panels.sticks.turn()
    panels.focus.take_back()
