"""The page of the sticks: what is there and moves, what it does, and how that is changed.

It opens over the picture and its scopes, so that the controls beside them are seen moving, and can be
dragged aside.
"""

from __future__ import annotations

from typing import Final

import msgspec
from imgui_bundle import ImVec2, ImVec4, imgui

from lamphouse.viewer import colours
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.panels.focus import FLAT, focus_here
from lamphouse.viewer.panels.sticks_device import device
from lamphouse.viewer.panels.sticks_row import add, line_of, row
from lamphouse.viewer.sticks.learn import Learning
from lamphouse.viewer.sticks.page import Chosen, SticksPage
from lamphouse.viewer.sticks.words import button_words, move_words

WIDTH: Final = 864.0
HEIGHT: Final = 594.0
DEVICE: Final = 240.0
FIELD: Final = 210.0
NUMBER: Final = 76.0
ROW: Final = 98.0  # what changes the chosen row: three lines
SAID: Final = 44.0  # a sentence of two lines
_TABLE: Final = (
    imgui.TableFlags_.scroll_y | imgui.TableFlags_.sizing_fixed_fit | imgui.TableFlags_.no_pad_outer_x
)
COLUMNS: Final = (("moved or pressed", 182.0), ("while held", 98.0), ("does", 164.0), ("amount", 100.0))
_WINDOW: Final = imgui.WindowFlags_.no_collapse | imgui.WindowFlags_.no_resize


def sticks(desk: Desk, panels: Panels) -> None:
    """Draw the page, and take what is done on it."""
    page, scale, size = panels.sticks, panels.scale, imgui.get_io().display_size
    imgui.set_next_window_pos(ImVec2(10 * scale, 39 * scale), imgui.Cond_.appearing)
    wide, high = min(WIDTH * scale, size.x - 20 * scale), min(HEIGHT * scale, size.y - 49 * scale)
    imgui.set_next_window_size(ImVec2(wide, high))
    shown, still = imgui.begin("joysticks", True, _WINDOW)
    if shown:
        imgui.begin_child("device", ImVec2(DEVICE * scale, 0), FLAT)
        device(panels)
        imgui.end_child()
        imgui.same_line()
        imgui.begin_child("mapping", ImVec2(0, 0), FLAT)
        focus_here(panels, "joysticks")
        _names(page, scale)
        imgui.separator()
        _all(page, scale)
        imgui.separator()
        below = (ROW + SAID) * scale + imgui.get_frame_height() + 3 * imgui.get_style().item_spacing.y
        _table(desk, page, scale, imgui.get_content_region_avail().y - below)
        add(desk, panels)
        imgui.begin_child("row", ImVec2(0, ROW * scale), FLAT)
        _learning(page) if page.learning else row(desk, panels)
        imgui.end_child()
        _message(page)
        imgui.end_child()
    imgui.end()
    if not still:
        page.turn()


def _names(page: SticksPage, scale: float) -> None:
    """Choose a mapping, and keep the one in use under a name."""
    shelf, device = page.shelf, page.device
    used = shelf.used(device)
    imgui.set_next_item_width(FIELD * scale)
    if imgui.begin_combo("##mapping", _name(used.name, used.is_own)):
        own, presets = shelf.names(device)
        for name, is_own in [*((n, True) for n in own), *((n, False) for n in presets)]:
            if imgui.selectable(_name(name, is_own), (name, is_own) == used[:2])[0]:
                _choose(page, name, is_own=is_own)
        imgui.end_combo()
    imgui.set_item_tooltip("The mapping in use; choose another")
    imgui.same_line()
    imgui.begin_disabled(not shelf.can_undo(device))
    if imgui.button("undo"):
        page.show(device)
        page.do(lambda: shelf.undo(device))
    imgui.end_disabled()
    imgui.set_item_tooltip("Take the last change of the mapping back")
    imgui.same_line()
    imgui.begin_disabled(not used.is_own and shelf.is_kept(device))
    if imgui.button("back to the preset"):
        page.show(device)
        page.do(lambda: shelf.back_to_preset(device))
    imgui.end_disabled()
    _keep(page, scale)


def _choose(page: SticksPage, name: str, *, is_own: bool) -> None:
    page.show(page.device)
    page.do(lambda: page.shelf.choose(page.device, name, is_own=is_own))


def _name(name: str, is_own: bool) -> str:
    return name if is_own else f"{name} (preset)"


def _keep(page: SticksPage, scale: float) -> None:
    shelf, device = page.shelf, page.device
    offered = shelf.free_name(device)
    imgui.set_next_item_width(FIELD * scale)
    changed, typed = imgui.input_text("##name", page.name or offered)
    if changed:
        page.name = typed
    imgui.set_item_tooltip("The name that this mapping is kept under")
    imgui.same_line()
    if imgui.button("keep this mapping") and page.do(lambda: shelf.keep(device, page.name or offered)):
        page.name = ""
    imgui.same_line()
    imgui.text_colored(ImVec4(*colours.QUIET), "as kept" if shelf.is_kept(device) else "changed, not kept")


def _all(page: SticksPage, scale: float) -> None:
    """Set what holds for the whole mapping."""
    mapping = page.mapping
    for field, words, low, high, tip in (
        ("dead_zone", "dead zone", 0.0, 0.9, "The deflection, of 1, that still counts as rest"),
        ("sensitivity", "sensitivity", 0.05, 20.0, "Multiplies every amount"),
    ):
        imgui.align_text_to_frame_padding()
        imgui.text(words)
        imgui.same_line()
        imgui.set_next_item_width(NUMBER * scale)
        value: float = getattr(mapping, field)
        changed, now = imgui.drag_float(
            f"##{field}", value, 0.005, low, high, "%.2f", imgui.SliderFlags_.always_clamp
        )
        if changed:
            _set(page, field, round(now, 4), drag=field)
        if imgui.is_item_deactivated():
            page.shelf.end_drag()
        imgui.set_item_tooltip(f"{tip}; drag, or double-click to type")
        imgui.same_line(0, 18 * scale)
    imgui.new_line()
    imgui.align_text_to_frame_padding()
    fine = "none" if mapping.fine is None else button_words(page.device, mapping.fine)
    imgui.text(f"fine button: {fine}")
    imgui.set_item_tooltip("Held, it makes everything a tenth")
    imgui.same_line(FIELD * scale + imgui.get_style().item_spacing.x)
    imgui.begin_disabled(page.pose is None)
    if imgui.button("learn##fine"):
        page.learning, page.message = Learning("fine"), ""
    imgui.end_disabled()
    imgui.same_line()
    imgui.begin_disabled(mapping.fine is None)
    if imgui.button("none##fine"):
        _set(page, "fine", None)
    imgui.end_disabled()


def _set(page: SticksPage, field: str, value: float | None, drag: str | None = None) -> None:
    page.change(lambda mapping: msgspec.structs.replace(mapping, **{field: value}), drag)


def _table(desk: Desk, page: SticksPage, scale: float, high: float) -> None:
    """Draw what the mapping does, row by row; a click chooses a row."""
    if not imgui.begin_table("rows", len(COLUMNS), _TABLE, ImVec2(0, max(high, 60 * scale))):
        return
    imgui.table_setup_scroll_freeze(0, 1)
    for title, wide in COLUMNS:
        imgui.table_setup_column(title, imgui.TableColumnFlags_.width_fixed, wide * scale)
    imgui.table_headers_row()
    mapping = page.mapping
    for n, move in enumerate(mapping.moves):
        held = "" if move.held is None else button_words(page.device, move.held)
        is_here = move.control in desk.controls.parameters
        _cells(page, ("move", n), (move_words(page.device, move), held, *line_of(move)), is_here=is_here)
    for n, press in enumerate(mapping.presses):
        _cells(page, ("press", n), (button_words(page.device, press.button), "", _words(press.action), ""))
    imgui.end_table()


def _words(name: str) -> str:
    return name.replace("_", " ")


def _cells(page: SticksPage, row: Chosen, cells: tuple[str, ...], *, is_here: bool = True) -> None:
    imgui.table_next_row()
    for n, text in enumerate(cells):
        imgui.table_next_column()
        if n == 0:
            if imgui.selectable(f"##{row}", page.row == row, imgui.SelectableFlags_.span_all_columns)[0]:
                page.row, page.learning, page.message = (None if page.row == row else row), None, ""
            if not is_here:
                imgui.set_item_tooltip("This chain has no such control; the row is kept for one that has")
            imgui.same_line(0, 0)
        colour = colours.ACCENT if page.row == row else colours.TEXT if is_here else colours.QUIET
        imgui.text_colored(ImVec4(*colour), text)


def _learning(page: SticksPage) -> None:
    """Say what the hand is asked to do."""
    if page.learning is None:
        return
    imgui.push_text_wrap_pos(0.0)
    imgui.text_colored(ImVec4(*colours.ACCENT), page.learning.asks)
    imgui.text_colored(ImVec4(*colours.QUIET), "Meanwhile the joysticks move nothing.")
    imgui.pop_text_wrap_pos()
    if imgui.button("leave it as it was"):
        page.learning = None


def _message(page: SticksPage) -> None:
    imgui.push_text_wrap_pos(0.0)
    imgui.text_colored(ImVec4(*colours.BRIGHT), page.message)
    imgui.pop_text_wrap_pos()
