"""The whole start page: which reel to work on, or the new one that is being started."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Final

from imgui_bundle import ImVec2, ImVec4, imgui

from lamphouse.viewer import colours
from lamphouse.viewer.models.starting import Starting
from lamphouse.viewer.panels import look
from lamphouse.viewer.panels.browser import browser
from lamphouse.viewer.panels.draw import fitted, image
from lamphouse.viewer.panels.focus import FLAT
from lamphouse.viewer.panels.start.new_reel import Small, new_reel

PLAIN: Final = (
    imgui.WindowFlags_.no_decoration
    | imgui.WindowFlags_.no_background
    | imgui.WindowFlags_.no_move
    | imgui.WindowFlags_.no_bring_to_front_on_focus
)
LATELY: Final = 0.4  # of the width
ROW: Final = 2.6  # lines of text
PICTURE: Final = 1.4  # width of a small picture for its height
FORGET: Final = 0.8  # of the width, beside which the button lies that forgets a reel
ASKS: Final = (0.8, 0.8)  # of the window, for the browser of one file


def start_page(starting: Starting, scale: float, small: Mapping[str, Small]) -> None:
    """Draw the page, and take what was done to it; `small` are pictures: stocks by name, reels by path."""
    size = imgui.get_io().display_size
    is_free = not imgui.is_any_item_active() and not imgui.is_popup_open("", imgui.PopupFlags_.any_popup)
    imgui.set_next_window_pos(ImVec2(0, 0))
    imgui.set_next_window_size(size)
    imgui.push_style_var(imgui.StyleVar_.window_padding, ImVec2(20 * scale, 16 * scale))
    imgui.begin("start", None, PLAIN)
    _head(starting, scale)
    if starting.new is None:
        _home(starting, small, scale)
    else:
        new_reel(starting, starting.new, scale, small)
    imgui.end()
    imgui.pop_style_var()
    _picking(starting, scale)
    if is_free and imgui.is_key_pressed(imgui.Key.escape, False):
        starting.step_back()


def _head(starting: Starting, scale: float) -> None:
    imgui.push_font(imgui.get_font(), look.LARGE)
    imgui.text("Lamphouse" if starting.new is None else f"A new reel of {starting.new.start.scan.name}")
    imgui.pop_font()
    buttons = []
    if starting.new is not None:
        buttons.append(("another scan", starting.drop_new, "Back to the list; nothing of this is kept"))
    if starting.current is not None:
        name = starting.current.file.name
        buttons.append((f"back to {name}", starting.go_back, "Back to the reel at work"))
    buttons.append(("close", starting.leave, "Close the desk"))
    gap = imgui.get_style().item_spacing.x
    pad = 2 * imgui.get_style().frame_padding.x
    wide = sum(imgui.calc_text_size(label).x + pad + gap for label, _, _ in buttons) - gap
    for n, (label, act, tip) in enumerate(buttons):
        if n == 0:
            imgui.same_line(imgui.get_window_size().x - wide - 20 * scale)
        else:
            imgui.same_line()
        if imgui.button(label):
            act()
        imgui.set_item_tooltip(tip)
    imgui.dummy(ImVec2(0, 4 * scale))


def _home(starting: Starting, small: Mapping[str, Small], scale: float) -> None:
    room = imgui.get_content_region_avail()
    foot = imgui.get_text_line_height_with_spacing()
    tall = room.y - foot
    imgui.begin_child("lately", ImVec2(room.x * LATELY, tall), FLAT)
    _title("Opened lately")
    _lately(starting, small, scale)
    imgui.end_child()
    imgui.same_line(0, 3 * look.GAP * scale)
    imgui.begin_child("files", ImVec2(0, tall), FLAT)
    _title("Open a reel, or a scan to start one; or drop it here")
    taken = browser(starting.browser, scale, tall)
    imgui.end_child()
    if taken is not None:
        starting.take(taken)
    imgui.text(starting.message)


def _title(text: str) -> None:
    imgui.text_colored(ImVec4(*colours.QUIET), text)
    imgui.dummy(ImVec2(0, 2))


def _lately(starting: Starting, small: Mapping[str, Small], scale: float) -> None:
    if not starting.lately.reels:
        imgui.text_colored(ImVec4(*colours.QUIET), "No reels yet.")
    for reel in starting.lately.reels:
        _reel(starting, Path(reel), small.get(reel), scale)


def _reel(starting: Starting, path: Path, small: Small | None, scale: float) -> None:
    """Draw a reel and the picture at which it was left, as one thing to click; where it is gone, say so."""
    is_there = str(path) not in starting.gone
    top, corner = imgui.get_cursor_pos(), imgui.get_cursor_screen_pos()
    room = imgui.get_content_region_avail().x * (1.0 if is_there else FORGET)
    tall = ROW * imgui.get_text_line_height()
    imgui.begin_disabled(not is_there)
    if imgui.selectable(f"##{path}", False, 0, ImVec2(room, tall))[0]:
        starting.take(path)
    imgui.end_disabled()
    wide = PICTURE * tall
    if small is not None:
        _picture(small, (corner.x, corner.y), (wide, tall))
    left = top.x + wide + 10 * scale
    room -= wide + 16 * scale
    imgui.set_cursor_pos(ImVec2(left, top.y + 2 * scale))
    colour = colours.TEXT if is_there else colours.QUIET
    imgui.text_colored(ImVec4(*colour), fitted(path.name, room))
    imgui.set_cursor_pos(ImVec2(left, top.y + 2 * scale + imgui.get_text_line_height() * 1.1))
    where = str(path.parent) if is_there else f"not there: {path.parent}"
    imgui.text_colored(ImVec4(*colours.QUIET), fitted(where, room))
    if not is_there:
        imgui.set_cursor_pos(ImVec2(left + room + 10 * scale, top.y + 4 * scale))
        if imgui.button(f"forget##{path}"):
            starting.forget(str(path))
        imgui.set_item_tooltip("Take it out of this list")
    imgui.set_cursor_pos(ImVec2(top.x, top.y + tall + 6 * scale))
    imgui.dummy(ImVec2(room, 0))


def _picture(small: Small, corner: tuple[float, float], room: tuple[float, float]) -> None:
    """Draw a small picture in the middle of its place, as large as that lets it be."""
    size = min(room[0] / small.width, room[1] / small.height)
    wide, tall = small.width * size, small.height * size
    left, top = corner[0] + (room[0] - wide) / 2, corner[1] + (room[1] - tall) / 2
    image(small.texture, (left, top), (left + wide, top + tall))


def _picking(starting: Starting, scale: float) -> None:
    """Draw the browser that looks for one file of the new reel over the page."""
    picking = starting.picking
    if picking is None:
        return
    titles = {"sound": "The sound of the reel", "place": "Where the reel is to be"}
    size = imgui.get_io().display_size
    wide, tall = size.x * ASKS[0], size.y * ASKS[1]
    imgui.open_popup(titles[picking.what])
    imgui.set_next_window_pos(ImVec2(size.x / 2, size.y / 2), imgui.Cond_.always, ImVec2(0.5, 0.5))
    imgui.set_next_window_size(ImVec2(wide, tall))
    flags = imgui.WindowFlags_.no_resize | imgui.WindowFlags_.no_move
    if imgui.begin_popup_modal(titles[picking.what], None, flags)[0]:
        foot = imgui.get_frame_height_with_spacing()
        taken = browser(picking.browser, scale, imgui.get_content_region_avail().y - foot)
        if imgui.button("cancel") or imgui.is_key_pressed(imgui.Key.escape):
            starting.stop_picking()
        if taken is not None:
            starting.picked(taken)
        if starting.picking is None:
            imgui.close_current_popup()
        imgui.end_popup()
