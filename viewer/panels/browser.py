"""A browser of files: one folder, what is in it for us, and a line that looks for names or takes one.

All of it goes by keys: up and down choose, Return takes, Backspace on an empty line goes to the folder above,
and letters look for a name, from wherever the page is.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

from imgui_bundle import ImVec2, ImVec4, imgui

from lamphouse.viewer import colours
from lamphouse.viewer.models.browsing import Browser, Entry, Kind
from lamphouse.viewer.panels import look
from lamphouse.viewer.panels.draw import fitted

KINDS: Final[dict[Kind, str]] = {
    "folder": "folder",
    "reel": "reel",
    "movie": "movie",
    "stills": "stills",
    "sound": "sound",
    "list": "list",
    "other": "",
}
KIND: Final = 62.0
DETAIL: Final = 170.0
PAGE: Final = 10  # lines of a page up or down
STEPS: Final = (
    (imgui.Key.up_arrow, -1),
    (imgui.Key.down_arrow, 1),
    (imgui.Key.page_up, -PAGE),
    (imgui.Key.page_down, PAGE),
)


def browser(browser: Browser, scale: float, height: float) -> Path | None:
    """Draw it over the width that there is; return the file that was taken, or None.

    A browser that saves returns the file to write.
    """
    imgui.push_id("browser")
    _folder(browser, scale)
    below = 2 if browser.is_saving else 1
    rest = below * imgui.get_frame_height_with_spacing() + look.GAP * scale
    taken = _typed(browser, scale)
    top = imgui.get_cursor_pos_y()
    picked = _list(browser, scale, max(3 * imgui.get_frame_height(), height - top - rest))
    found = taken or picked
    if browser.is_saving:
        found = _saving(browser) or taken
    _foot(browser)
    imgui.pop_id()
    return found


def _folder(browser: Browser, scale: float) -> None:
    if imgui.button("up"):
        browser.go_up()
        browser.wants_keyboard = True
    imgui.set_item_tooltip("The folder above (Backspace)")
    imgui.same_line()
    imgui.align_text_to_frame_padding()
    room = imgui.get_content_region_avail().x
    imgui.text(fitted(str(browser.folder), room))


def _typed(browser: Browser, scale: float) -> Path | None:
    """Draw the line that is typed into; it has the keyboard as long as nobody takes it away."""
    if browser.wants_keyboard:
        imgui.set_keyboard_focus_here()
        browser.wants_keyboard = False
    imgui.set_next_item_width(-1)
    hint = "name of the file" if browser.is_saving else "type to find"
    was_empty = not browser.name
    flags = imgui.InputTextFlags_.enter_returns_true | imgui.InputTextFlags_.callback_history
    entered, typed = imgui.input_text_with_hint("##name", hint, browser.name, flags, lambda _: 0)
    if imgui.is_item_active():
        _by_keys(browser, was_empty)
    if typed != browser.name:
        browser.look_for(typed)
    if not entered:
        return None
    browser.wants_keyboard = True
    return browser.take_target() if browser.is_saving else browser.take()


def _by_keys(browser: Browser, was_empty: bool) -> None:
    for key, by in STEPS:
        if imgui.is_key_pressed(key):
            browser.move(by)
    if was_empty and imgui.is_key_pressed(imgui.Key.backspace):
        browser.go_up()
        browser.wants_keyboard = True


def _list(browser: Browser, scale: float, height: float) -> Path | None:
    taken = None
    imgui.push_style_color(imgui.Col_.child_bg, ImVec4(*colours.SURROUND))
    flags = imgui.ChildFlags_.always_use_window_padding
    if imgui.begin_child("list", ImVec2(0, height), flags, imgui.WindowFlags_.no_nav):
        shown = browser.shown
        if not shown and not browser.is_busy:
            imgui.text_colored(
                ImVec4(*colours.QUIET),
                "Nothing here." if browser.is_saving or not browser.name else "No such name.",
            )
        clipper = imgui.ListClipper()
        clipper.begin(len(shown))
        while clipper.step():
            for n in range(clipper.display_start, clipper.display_end):
                taken = _line(browser, shown[n], n, scale) or taken
        _keep_in_sight(browser, len(shown))
    imgui.end_child()
    imgui.pop_style_color()
    return taken


def _keep_in_sight(browser: Browser, count: int) -> None:
    """Scroll to the line that is chosen, where keys have chosen it."""
    line = imgui.get_text_line_height_with_spacing()
    top, room = imgui.get_scroll_y(), imgui.get_window_height() - 2 * imgui.get_style().window_padding.y
    place = browser.chosen * line
    if not any(imgui.is_key_pressed(key) for key, _ in STEPS) or not count:
        return
    if place < top:
        imgui.set_scroll_y(place)
    elif place + line > top + room:
        imgui.set_scroll_y(place + line - room)


def _line(browser: Browser, entry: Entry, number: int, scale: float) -> Path | None:
    clicked, _ = imgui.selectable(
        f"##{entry.name}", number == browser.chosen, imgui.SelectableFlags_.allow_double_click
    )
    taken = None
    if clicked:
        browser.chosen, browser.wants_keyboard = number, True
        if entry.kind == "folder" or browser.is_saving or imgui.is_mouse_double_clicked(0):
            taken = browser.take(entry)
    left = imgui.get_item_rect_min().x - imgui.get_window_pos().x
    right = imgui.get_item_rect_max().x - imgui.get_window_pos().x
    imgui.same_line(left)
    imgui.text_colored(ImVec4(*colours.QUIET), KINDS[entry.kind])
    imgui.same_line(left + KIND * scale)
    room = right - left - (KIND + DETAIL) * scale
    imgui.text(fitted(entry.name, room if entry.detail else room + DETAIL * scale))
    wide = imgui.calc_text_size(entry.detail).x
    imgui.same_line(right - wide - 4 * scale)
    imgui.text_colored(ImVec4(*colours.QUIET), entry.detail)
    return taken


def _saving(browser: Browser) -> Path | None:
    taken = None
    if browser.asks_to_replace:
        imgui.align_text_to_frame_padding()
        imgui.text(f"{browser.target.name} is there.")
        imgui.same_line()
        if imgui.button("replace it"):
            taken = browser.take_target(replaces=True)
        imgui.same_line()
        if imgui.button("keep it"):
            browser.asks_to_replace = False
    elif imgui.button("save here"):
        taken = browser.take_target()
    return taken


def _foot(browser: Browser) -> None:
    changed, browser.all_files = imgui.checkbox("all files", browser.all_files)
    if changed:
        browser.chosen, browser.wants_keyboard = 0, True
    imgui.same_line()
    imgui.align_text_to_frame_padding()
    imgui.text_colored(ImVec4(*colours.QUIET), "reading ..." if browser.is_busy else browser.message)
