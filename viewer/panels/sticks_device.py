"""The device that is there, live: axes as bars, buttons as dots, with the numbers that a mapping has."""

from __future__ import annotations

from math import isnan
from typing import Final

from imgui_bundle import ImVec2, ImVec4, imgui

from lamphouse.viewer import colours
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.panels import look
from lamphouse.viewer.panels.draw import box, line
from lamphouse.viewer.sticks.page import SticksPage
from lamphouse.viewer.sticks.shelf import DEVICES
from lamphouse.viewer.sticks.step import AXES_EACH, BUTTONS_EACH, Pose, Seen
from lamphouse.viewer.sticks.words import axis_words, button_words

NUMBER: Final = 26.0  # where words begin, after a number
BAR: Final = 66.0
ACROSS: Final = 8  # dots in a row
CELL: Final = 30.0


def device(panels: Panels) -> None:
    """Draw what is there and where it stands; where nothing is, say so and offer both kinds of mapping."""
    page, scale = panels.sticks, panels.scale
    if page.pose is None or page.seen is None:
        _nothing(page)
        return
    for name in page.seen.names:
        imgui.push_text_wrap_pos(0.0)
        imgui.text(name)
        imgui.pop_text_wrap_pos()
    for number, value in enumerate(page.pose.axes):
        if not isnan(value):
            _axis(page, number, value, scale)
    if page.device == "gamepad":
        for number in page.seen.buttons:
            _button(number, button_words(page.device, number), page.pose.is_down(number), scale)
    else:
        _dots(page.seen, page.pose, scale)


def _nothing(page: SticksPage) -> None:
    imgui.push_text_wrap_pos(0.0)
    imgui.text("No gamepad and no joystick is there.")
    imgui.text_colored(
        ImVec4(*colours.QUIET),
        "Plug one in and move it; until then its mapping can be read and changed with the mouse.",
    )
    imgui.pop_text_wrap_pos()
    for kind in DEVICES:
        if imgui.radio_button(kind, page.device == kind):
            page.show(kind)


def _axis(page: SticksPage, number: int, value: float, scale: float) -> None:
    """Draw one axis: its number, its words or where it stands, and a bar from its middle."""
    words = f"{value:+.2f}"
    if page.device == "gamepad":
        words = axis_words(page.device, number)
    elif number % AXES_EACH == 0:
        imgui.text_colored(ImVec4(*colours.QUIET), f"{'left' if number < AXES_EACH else 'right'} axes")
    left, middle, right, y = _numbered(number, words, scale)
    high = imgui.get_text_line_height() / 2 - 3 * scale
    end = middle + min(max(value, -1.0), 1.0) * (right - left) / 2
    box((left, y - high), (right, y + high), colours.SURROUND)
    box((min(middle, end), y - high), (max(middle, end), y + high), colours.ACCENT)
    line((middle, y - high), (middle, y + high), colours.QUIET)


def _numbered(number: int, words: str, scale: float) -> tuple[float, float, float, float]:
    """Write a line; return the left, middle and right of the room at its end, and its height's middle."""
    right = imgui.get_cursor_screen_pos().x + imgui.get_content_region_avail().x
    imgui.text_colored(ImVec4(*colours.QUIET), str(number))
    imgui.same_line(NUMBER * scale)
    imgui.text(words)
    y = imgui.get_item_rect_min().y + imgui.get_text_line_height() / 2
    return right - BAR * scale, right - BAR * scale / 2, right, y


def _button(number: int, words: str, is_down: bool, scale: float) -> None:
    _, middle, _, y = _numbered(number, words, scale)
    _dot(ImVec2(middle, y), is_down, scale)


def _dots(seen: Seen, pose: Pose, scale: float) -> None:
    """Draw the buttons of joysticks, which have no words, as numbered dots in rows."""
    for hand, words in enumerate(("left buttons", "right buttons")[: len(seen.names)]):
        imgui.text_colored(ImVec4(*colours.QUIET), words)
        numbers = [n for n in seen.buttons if n // BUTTONS_EACH == hand]
        high = imgui.get_text_line_height()
        for n, number in enumerate(numbers):
            if n % ACROSS:
                imgui.same_line(n % ACROSS * CELL * scale)
            imgui.begin_group()
            imgui.text(str(number))
            at = imgui.get_cursor_screen_pos()
            imgui.dummy(ImVec2(high, high * 0.7))
            _dot(ImVec2(at.x + 8 * scale, at.y + high * 0.3), pose.is_down(number), scale)
            imgui.end_group()


def _dot(middle: ImVec2, is_down: bool, scale: float) -> None:
    draw = imgui.get_window_draw_list()
    if is_down:
        draw.add_circle_filled(middle, 6 * scale, look.code(colours.ACCENT))
    else:
        draw.add_circle(middle, 5 * scale, look.code(colours.QUIET))
