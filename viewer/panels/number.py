"""A number in a field: dragged gently, typed after a click or Return, stepped by the arrows and the wheel.

Nothing lies behind the figures, so that they are read wherever the number stands; a line at the foot shows
where that is, from neutral on.
"""

from __future__ import annotations

from typing import Final, NamedTuple

from imgui_bundle import ImVec2, imgui

from lamphouse.nodes.parameter import Parameter
from lamphouse.viewer import colours
from lamphouse.viewer.models.grips import HAND, RANGE
from lamphouse.viewer.models.panels import Panels, Typing
from lamphouse.viewer.panels.draw import box, frame, text_at

SLACK: Final = 3.0  # pixels that a hand may move and still have clicked
FINE: Final = 0.2
COARSE: Final = 4.0  # then the handle of a pad goes about as far as the pointer
TIP: Final = "Drag, finely with Shift, coarsely with Control; click to type"
ARROWS: Final = (imgui.Key.left_arrow, imgui.Key.right_arrow, imgui.Key.down_arrow, imgui.Key.up_arrow)


class Turned(NamedTuple):
    """What a hand did to a number: moved it so far as it travels, or typed something, or neither."""

    by: float = 0.0
    typed: str | None = None
    is_step: bool = False  # of the wheel or an arrow, and not of a hand that holds it


def number(
    panels: Panels,
    label: str,
    value: float,
    parameter: Parameter,
    shown: str,
    *,
    neutral: float,
    width: float,
    has_wheel: bool = False,
) -> Turned:
    """Draw a number of `parameter` in the form `shown`, and return what is done to it.

    `has_wheel` is for what lies still: in a list that scrolls the wheel is the list's.
    """
    if panels.typing.item == imgui.get_id(label):
        return Turned(typed=_field(panels.typing, label, width))
    is_pressed = _button(panels.typing, label, width)
    _draw(shown % (round(value, digits(parameter)) + 0.0))  # no minus before nought
    _gauge(value, neutral, parameter, panels.scale)
    _begin_typing(panels, value, is_pressed=is_pressed and not _has_dragged())
    if imgui.is_item_active() and imgui.is_mouse_down(0):
        return Turned(_dragged() * RANGE * parameter.span / (HAND * panels.scale))
    if is_cleared():
        there, here = (parameter.travel.position(number) for number in (neutral, value))
        return Turned(there - here, is_step=True)
    across, up = arrows()
    steps = across + up + (wheel() if has_wheel else 0.0)
    return Turned(steps * parameter.step, is_step=True)


def digits(parameter: Parameter) -> int:
    """Return how many digits after the point a number of `parameter` is shown with."""
    return 0 if parameter.step >= 1 else 2 if parameter.step > 0.01 else 3


def pace() -> float:
    """Return how fast a drag goes: finely with Shift, coarsely with Control."""
    io = imgui.get_io()
    return (FINE if io.key_shift else 1.0) * (COARSE if io.key_ctrl else 1.0)


def wheel() -> float:
    """Return the steps of the wheel over the item just drawn, which nothing else takes then."""
    if not imgui.is_item_hovered():
        return 0.0
    imgui.set_item_key_owner(imgui.Key.mouse_wheel_y)
    return imgui.get_io().mouse_wheel * pace()


def arrows() -> tuple[float, float]:
    """Return the steps across and up of the arrows, while the item just drawn has the keyboard."""
    if not (imgui.is_item_focused() and imgui.get_io().nav_visible):
        return 0.0, 0.0
    for key in ARROWS:  # else they would take the keyboard elsewhere
        imgui.internal.set_key_owner(key, imgui.get_item_id())
    left, right, down, up = (float(imgui.is_key_pressed(key)) for key in ARROWS)
    return (right - left) * pace(), (up - down) * pace()


def is_cleared() -> bool:
    """Return whether Backspace is pressed while the item just drawn has the keyboard."""
    has_keyboard = imgui.is_item_focused() and imgui.get_io().nav_visible
    return bool(has_keyboard and imgui.is_key_pressed(imgui.Key.backspace, False))


def _field(typing: Typing, label: str, width: float) -> str | None:
    """Draw the field that a number is typed into; return what was typed once it is left, by whatever way."""
    if typing.begins:
        imgui.set_keyboard_focus_here()
    imgui.set_next_item_width(width)
    flags = imgui.InputTextFlags_.auto_select_all
    _, typing.text = imgui.input_text(label, typing.text, flags)
    has_left = not typing.begins and not imgui.is_item_active()
    typing.begins = typing.begins and not imgui.is_item_active()
    if not has_left:
        return None
    typing.item = 0
    return typing.text if typing.text.strip() not in ("", typing.first) else None


def _button(typing: Typing, label: str, width: float) -> bool:
    """Draw where a number stands that is not typed; while another is, Tab goes on to typing this one."""
    imgui.push_item_flag(imgui.internal.ItemFlagsPrivate_.inputable, bool(typing.item))
    size = ImVec2(width, imgui.get_frame_height())
    is_pressed = imgui.invisible_button(label, size, imgui.ButtonFlags_.enable_nav)
    imgui.pop_item_flag()
    return bool(is_pressed)


def _begin_typing(panels: Panels, value: float, *, is_pressed: bool) -> None:
    """Let the number just drawn be typed, once none other is."""
    item = imgui.get_item_id()
    if is_pressed:
        panels.typing.then = item
    if panels.typing.then == item and not panels.typing.item:
        panels.typing = Typing(item, f"{value:.6g}", f"{value:.6g}")


def _has_dragged() -> bool:
    moved = imgui.get_mouse_drag_delta(0, SLACK)
    return bool(moved.x or moved.y)


def _dragged() -> float:
    return imgui.get_io().mouse_delta.x * pace() if imgui.is_mouse_dragging(0, SLACK) else 0.0


def _draw(text: str) -> None:
    low, high = imgui.get_item_rect_min(), imgui.get_item_rect_max()
    is_over = imgui.is_item_hovered() or imgui.is_item_active()
    box((low.x, low.y), (high.x, high.y), colours.FIELD_OVER if is_over else colours.FIELD)
    frame((low.x, low.y), (high.x, high.y), colours.EDGE)
    size = imgui.calc_text_size(text)
    text_at((low.x + high.x - size.x) / 2, (low.y + high.y - size.y) / 2, text, _text_colour())


def _text_colour() -> colours.Colour:
    r, g, b, a = imgui.get_style_color_vec4(imgui.Col_.text)
    return (r, g, b, a)


def _gauge(value: float, neutral: float, parameter: Parameter, scale: float) -> None:
    """Draw how far the number is from neutral, along the foot of the item."""
    low, high, travel = imgui.get_item_rect_min(), imgui.get_item_rect_max(), parameter.travel
    wide = high.x - low.x - 4 * scale

    def across(number: float) -> float:
        from_low = travel.position(parameter.within(number)) - travel.position(parameter.low)
        return low.x + 2 * scale + wide * from_low / parameter.span

    start, stop = sorted((across(neutral), across(value)))
    box((start - scale, high.y - 4 * scale), (stop + scale, high.y - 2 * scale), colours.QUIET)
