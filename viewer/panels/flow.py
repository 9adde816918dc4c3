"""Rows that break where the panel ends, so that nothing in them is cut."""

from __future__ import annotations

from imgui_bundle import ImVec4, imgui

from lamphouse.viewer.colours import Colour


def beside(label: str = "", width: float = 0.0) -> None:
    """Go on in the row with an item so wide and a button of that label, or else in the next row."""
    style = imgui.get_style()
    if label:
        width += imgui.calc_text_size(label, hide_text_after_double_hash=True).x + 2 * style.frame_padding.x
    right = imgui.get_item_rect_max().x + style.item_spacing.x + width
    if right <= imgui.get_cursor_screen_pos().x + imgui.get_content_region_avail().x:
        imgui.same_line()


def radio_width(label: str) -> float:
    """Return the width of a radio button, or of a box to check, with that label."""
    text = imgui.calc_text_size(label, hide_text_after_double_hash=True).x
    return imgui.get_frame_height() + imgui.get_style().item_inner_spacing.x + text


def wrapped(text: str, colour: Colour) -> None:
    """Write a sentence in as many lines as it takes where the panel ends."""
    imgui.push_text_wrap_pos(0.0)
    imgui.text_colored(ImVec4(*colour), text)
    imgui.pop_text_wrap_pos()
