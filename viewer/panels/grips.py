"""The three balances and the three masters, side by side and always there, whatever node they belong to."""

from __future__ import annotations

from typing import Any

from imgui_bundle import ImVec2, imgui

from lamphouse.nodes.parameter import Kind
from lamphouse.viewer import colours
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.grips import Grip, add_grips, grips_of, of_all_tones, put_back
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.panels.buttons import ring_button
from lamphouse.viewer.panels.draw import box, text_at
from lamphouse.viewer.panels.focus import focus_here
from lamphouse.viewer.panels.number import Turned, wheel
from lamphouse.viewer.panels.numbers import numbers, one_number, take_turn, typed_text
from lamphouse.viewer.panels.pad import RADII, pad, tone_mark


def grips(desk: Desk, panels: Panels, seen: Seen, width: float, height: float) -> None:
    """Draw the balances of shadows, middle tones and highlights, each with its numbers and its master."""
    gap = imgui.get_style().item_spacing.x
    size = (width - 2 * gap) / 3
    imgui.begin_child(
        "grips",
        ImVec2(width, height),
        imgui.ChildFlags_.nav_flattened,
        imgui.WindowFlags_.no_scroll_with_mouse,
    )
    focus_here(panels, "grips")
    for n, grip in enumerate(grips_of(desk.controls.parameters, panels.opened)):
        if n:
            imgui.same_line(0, gap)
        imgui.push_id(str(grip.tones))
        imgui.begin_group()
        _grip(desk, panels, seen, grip, size) if grip.balance else _none(desk, grip, size, panels.scale)
        imgui.end_group()
        imgui.pop_id()
    imgui.end_child()


def balances_height(width: float) -> float:
    """Return how high the grips are in so much width, both in pixels."""
    style = imgui.get_style()
    return (width - 2 * style.item_spacing.x) / 3 + 2 * (imgui.get_frame_height() + style.item_spacing.y)


def _grip(desk: Desk, panels: Panels, seen: Seen, grip: Grip, size: float) -> None:
    parameter, at = desk.controls.parameters[grip.balance], imgui.get_cursor_screen_pos()
    value: Any = desk.own(grip.balance, panels.drag)
    is_on = desk.is_on(grip.node) and desk.is_on(grip.balance)
    imgui.begin_disabled(not is_on)
    imgui.set_next_item_allow_overlap()
    pad(desk, panels, seen, grip.balance, parameter, value=value, size=size)
    if grip.master and (steps := wheel()):
        take_turn(
            desk,
            panels,
            grip.master,
            Turned(steps * desk.controls.parameters[grip.master].step, is_step=True),
        )
    below = imgui.get_cursor_screen_pos()
    _titled(grip, at, size, panels.scale)
    imgui.end_disabled()
    _back(desk, grip, at, size, panels.scale)
    _switched_on(desk, grip, at, size)
    imgui.set_cursor_screen_pos(below)
    imgui.begin_disabled(not is_on)
    if parameter.kind is Kind.TRIPLE:
        numbers(desk, panels, grip.balance, size, has_wheel=True)
    else:
        typed_text(desk, panels, grip.balance, size)
    imgui.end_disabled()
    if grip.master:
        imgui.begin_disabled(not (desk.is_on(grip.node) and desk.is_on(grip.master)))
        one_number(desk, panels, grip.master, size, is_named=True, has_wheel=True)
        imgui.end_disabled()


def _none(desk: Desk, grip: Grip, width: float, scale: float) -> None:
    """Say that there is no such balance in the chain, and offer the node that has one."""
    at, kind = imgui.get_cursor_screen_pos(), of_all_tones(desk.catalogue)
    tall_as = width + 2 * (imgui.get_frame_height() + imgui.get_style().item_spacing.y)
    box((at.x, at.y), (at.x + width, at.y + tall_as), colours.SURROUND)
    text = f"No node of this chain has a balance for the {grip.tones}."
    inset = 12 * scale
    text_at(at.x + inset, at.y + inset, text, colours.TEXT, width - 2 * inset)
    tall_text = imgui.calc_text_size(text, wrap_width=width - 2 * inset).y
    imgui.set_cursor_screen_pos(ImVec2(at.x + inset, at.y + 2 * inset + tall_text))
    if imgui.button(f"add a {kind}"):
        add_grips(desk)
    imgui.set_cursor_screen_pos(at)
    imgui.dummy(ImVec2(width, tall_as))


def _titled(grip: Grip, at: ImVec2, size: float, scale: float) -> None:
    """Write in the corners for which tones it is, beside their mark, and whose it is."""
    radius, inset = max(RADII.values()) * scale, 6 * scale
    tone_mark((at.x + inset + radius, at.y + inset + radius), grip.tones, scale, colours.BRIGHT)
    words = at.x + 2 * inset + 2 * radius
    text_at(words, at.y + inset + radius - imgui.get_font_size() / 2, grip.tones.split()[0], colours.TEXT)
    foot = at.y + size - imgui.get_font_size() - inset
    text_at(at.x + inset, foot, grip.node.replace("_", " "))


def _back(desk: Desk, grip: Grip, at: ImVec2, width: float, scale: float) -> None:
    """Draw what makes balance and master neutral, in the corner, while they are not."""
    if all(desk.own(key) == desk.controls.parameters[key].default for key in grip.keys):
        return
    side = imgui.get_frame_height()
    imgui.set_cursor_screen_pos(ImVec2(at.x + width - side, at.y))
    if ring_button("neutral", "Balance and master back to neutral", scale):
        put_back(desk, grip.keys)


def _switched_on(desk: Desk, grip: Grip, at: ImVec2, width: float) -> None:
    """Offer to switch on what is off."""
    off = [key for key in (grip.node, *grip.keys) if not desk.is_on(key)]
    if off:
        imgui.set_cursor_screen_pos(ImVec2(at.x + width / 4, at.y + 0.62 * width))
        if imgui.button("switch on", ImVec2(width / 2, 0)):
            desk.set({f"{key}.on": "on" for key in off})
