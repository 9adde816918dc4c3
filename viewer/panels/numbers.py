"""The numbers of a balance beside each other, and one number by itself, each under the hand."""

from __future__ import annotations

from typing import Any

from imgui_bundle import ImVec4, imgui

from lamphouse.nodes.parameter import CHANNELS
from lamphouse.viewer import colours
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.grips import travelled, turn, typed
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.panels.grasp import follow_hand, grasped, stepped
from lamphouse.viewer.panels.number import TIP, Turned, digits, number


def numbers(desk: Desk, panels: Panels, key: str, width: float, *, has_wheel: bool = False) -> None:
    """Draw the numbers of a balance beside each other, and take what is done to them."""
    parameter, gap = desk.controls.parameters[key], 4 * panels.scale
    value: Any = desk.own(key, panels.drag)
    default: Any = parameter.default
    is_light = parameter.parts == CHANNELS
    for channel, part in enumerate(parameter.parts):
        if channel:
            imgui.same_line(0, gap)
        imgui.push_style_color(
            imgui.Col_.text, ImVec4(*(colours.CHANNELS[channel] if is_light else colours.TEXT))
        )
        turned = number(
            panels,
            f"##{key}.{channel}",
            value[channel],
            parameter,
            f"{'' if is_light else part[0].upper() + ' '}%.{digits(parameter)}f",
            neutral=default[channel],
            width=(width - 2 * gap) / 3,
            has_wheel=has_wheel,
        )
        imgui.pop_style_color()
        imgui.set_item_tooltip(f"{part.capitalize()}: {TIP[0].lower()}{TIP[1:]}")
        take_turn(desk, panels, key, turned, channel)


def one_number(
    desk: Desk, panels: Panels, key: str, width: float, *, is_named: bool = False, has_wheel: bool = False
) -> None:
    """Draw a number of the chain, or a balance as one number, and take what is done to it."""
    parameter = desk.controls.parameters[key]
    name = f"{parameter.name.replace('_', ' ')} " if is_named else ""
    turned = number(
        panels,
        f"##{key}",
        parameter.travel.at(travelled(parameter, desk.own(key, panels.drag))),
        parameter,
        f"{name}%.{digits(parameter)}f",
        neutral=parameter.travel.at(travelled(parameter, parameter.default)),
        width=width,
        has_wheel=has_wheel,
    )
    unit = f" ({parameter.unit})" if parameter.unit else ""
    imgui.set_item_tooltip(f"{parameter.sentence}{unit}\n{TIP}")
    take_turn(desk, panels, key, turned)


def typed_text(desk: Desk, panels: Panels, key: str, width: float) -> None:
    """Draw a field for a value of any kind, which is read as on the command line."""
    shown = desk.controls.parameters[key].kind.text(desk.own(key, panels.drag))
    imgui.set_next_item_width(width)
    flags = imgui.InputTextFlags_.enter_returns_true | imgui.InputTextFlags_.auto_select_all
    entered, now = imgui.input_text("##v", shown, flags)
    if entered and now != shown:
        desk.type(key, now)


def take_turn(desk: Desk, panels: Panels, key: str, turned: Turned, channel: int | None = None) -> None:
    """Do to a control, or to one of the three numbers of a balance, what was done to its number."""
    if not turned.is_step:
        follow_hand(desk, panels, key)
    if turned.typed is not None:
        typed(desk, key, turned.typed, channel)
    elif turned.by:
        drag = stepped(desk, panels, key) if turned.is_step else grasped(desk, panels, key)
        turn(desk, key, turned.by, drag, channel)
