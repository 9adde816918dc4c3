"""One row of a stick's mapping, changed: what it does, by which stick or button, how much and which way."""

from __future__ import annotations

from dataclasses import replace
from math import copysign
from typing import Final

import msgspec
from imgui_bundle import ImVec2, ImVec4, imgui

from lamphouse.nodes.parameter import Parameter
from lamphouse.nodes.values import Travel
from lamphouse.viewer import colours
from lamphouse.viewer.models.commands.table import COMMANDS
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.panels.focus import FLAT
from lamphouse.viewer.sticks.edit import turned_round, with_amount, without_move, without_press
from lamphouse.viewer.sticks.learn import Learning, learning
from lamphouse.viewer.sticks.mapping import By, Move, Press, with_move, with_press
from lamphouse.viewer.sticks.page import SticksPage
from lamphouse.viewer.sticks.words import button_words

CHOICE: Final = 204.0
AMOUNT: Final = 76.0
LEAST: Final = 0.001  # an amount of nothing would have no way to go
MOST: Final = 100.0
LIST: Final = 300.0
Choice = tuple[str, str, str]  # a name, the words for it, a sentence
_WAYS: Final[dict[By, str]] = {
    "rate": "The longer it is pushed, the farther the control goes: for what springs back",
    "travel": "The control goes as far as the axis does: for what stays where it is put",
}


def line_of(move: Move) -> tuple[str, str]:
    """Return what a move does and how much, in words for the table."""
    signed = move.amounts if len(move.amounts) == 1 else tuple(abs(amount) for amount in move.amounts)
    sizes = ", ".join(dict.fromkeys(f"{amount:.3g}" for amount in signed))
    return _words(move.control), f"{sizes} a second" if move.by == "rate" else f"{sizes} by travel"


def add(desk: Desk, panels: Panels) -> None:
    """Draw the two lists from which a new row begins."""
    page, scale = panels.sticks, panels.scale
    imgui.begin_disabled(page.pose is None)
    chosen = _list(page, "##add control", "add a control", _controls(desk, page), scale)
    if chosen:
        page.row, page.message = None, ""
        page.learning = learning(chosen, desk.controls.parameters.get(chosen))
    imgui.same_line()
    chosen = _list(page, "##add action", "add an action", _actions(), scale)
    if chosen:
        page.row, page.message = None, ""
        page.learning = Learning("press", chosen)
    imgui.end_disabled()


def row(desk: Desk, panels: Panels) -> None:
    """Draw what changes the chosen row."""
    page, mapping = panels.sticks, panels.sticks.mapping
    kind, n = page.row or ("", 0)
    if kind == "move" and n < len(mapping.moves):
        _move(desk, panels, n, mapping.moves[n])
    elif kind == "press" and n < len(mapping.presses):
        _press(panels, n, mapping.presses[n])
    else:
        imgui.text_colored(ImVec4(*colours.QUIET), "Choose a row to change it, or add one.")


def _press(panels: Panels, n: int, press: Press) -> None:
    page, scale = panels.sticks, panels.scale
    chosen = _list(page, "##action", _words(press.action), _actions(), scale)
    if chosen:
        page.change(lambda m: with_press(m, msgspec.structs.replace(press, action=chosen), n))
    imgui.same_line()
    _learn(page, Learning("press", press.action, n), "learn")
    imgui.same_line()
    if imgui.button("remove"):
        page.change(lambda m: without_press(m, n))
        page.row = None


def _move(desk: Desk, panels: Panels, n: int, move: Move) -> None:
    page, scale = panels.sticks, panels.scale
    chosen = _list(page, "##control", _words(move.control), _controls(desk, page), scale)
    if chosen and chosen != move.control:
        _another(desk, page, n, move, chosen)
    imgui.same_line()
    asked = learning(move.control, desk.controls.parameters.get(move.control), n)
    if len(move.amounts) == 2:
        asked = replace(asked, want="plane")
    _learn(page, asked, "learn")
    imgui.same_line()
    if imgui.button("remove"):
        page.change(lambda m: without_move(m, n))
        page.row = None
    for by in _WAYS if move.axes else ():
        imgui.same_line()
        if imgui.radio_button(f"by {by}", move.by == by):
            _put(page, n, msgspec.structs.replace(move, by=by))
        imgui.set_item_tooltip(_WAYS[by])
    _amounts(desk, page, n, move, scale)
    _held(page, n, move)


def _another(desk: Desk, page: SticksPage, n: int, move: Move, control: str) -> None:
    """Give a row another control: the same stick moves it, or where that cannot be, one is learned."""
    asked = learning(control, desk.controls.parameters.get(control), n)
    if (asked.want == "plane") != (len(move.axes) == 2):
        page.learning = asked
        return
    amounts = tuple(copysign(asked.amount, amount) for amount in move.amounts)
    _put(page, n, msgspec.structs.replace(move, control=control, amounts=amounts))


def _amounts(desk: Desk, page: SticksPage, n: int, move: Move, scale: float) -> None:
    parameter = desk.controls.parameters.get(move.control)
    for part, words in enumerate(("across", "up") if len(move.amounts) == 2 else ("amount",)):
        if part:
            imgui.same_line(0, 18 * scale)
        imgui.align_text_to_frame_padding()
        imgui.text(words)
        imgui.same_line()
        imgui.set_next_item_width(AMOUNT * scale)
        size = abs(move.amounts[part])
        changed, now = imgui.drag_float(
            f"##{part}", size, max(size / 100, LEAST), LEAST, MOST, "%.3f", imgui.SliderFlags_.always_clamp
        )
        if changed:
            _put(page, n, with_amount(move, part, round(now, 4)), drag=f"{n}.{part}")
        if imgui.is_item_deactivated():
            page.shelf.end_drag()
        imgui.set_item_tooltip(_meant(move, parameter))
        imgui.same_line()
        if imgui.button(f"turn round##{part}"):
            _put(page, n, turned_round(move, part))


def _meant(move: Move, parameter: Parameter | None) -> str:
    """Return what an amount means, in the control's own unit."""
    unit = "of the plane's width" if len(move.amounts) == 2 else parameter.unit if parameter else ""
    if parameter is not None and parameter.travel is Travel.LOG and len(move.amounts) == 1:
        unit = "as a logarithm: 0.1 is about a tenth"
    when = "in a second at full deflection" if move.by == "rate" else "for half the way of the axis"
    return f"How much {when}{', ' + unit if unit else ''}; drag, or double-click to type"


def _held(page: SticksPage, n: int, move: Move) -> None:
    imgui.align_text_to_frame_padding()
    held = "no button" if move.held is None else button_words(page.device, move.held)
    imgui.text(f"while held: {held}")
    imgui.set_item_tooltip("A second set of controls lies under the same hand while a button is held")
    imgui.same_line()
    _learn(page, Learning("held", move.control, n), "learn##held")
    imgui.same_line()
    imgui.begin_disabled(move.held is None)
    if imgui.button("none##held"):
        _put(page, n, msgspec.structs.replace(move, held=None))
    imgui.end_disabled()


def _put(page: SticksPage, n: int, move: Move, drag: str | None = None) -> None:
    page.change(lambda mapping: with_move(mapping, move, n), drag)


def _learn(page: SticksPage, asked: Learning, label: str) -> None:
    imgui.begin_disabled(page.pose is None)
    if imgui.button(label):
        page.learning, page.message = asked, ""
    imgui.end_disabled()


def _list(page: SticksPage, name: str, shown: str, choices: list[Choice], scale: float) -> str:
    """Draw a list that is searched by typing; return the name of what was chosen, or nothing."""
    chosen, wide = "", CHOICE * scale
    imgui.set_next_item_width(wide)
    if not imgui.begin_combo(name, shown, imgui.ComboFlags_.height_largest):
        return ""
    if imgui.is_window_appearing():
        page.searched = ""
        imgui.set_keyboard_focus_here()
    imgui.set_next_item_width(wide)
    _, page.searched = imgui.input_text_with_hint("##searched", "search", page.searched)
    sought = page.searched.casefold().split()
    imgui.begin_child("choices", ImVec2(wide, LIST * scale), FLAT)
    for key, words, sentence in choices:
        if all(part in f"{words} {sentence}".casefold() for part in sought):
            if imgui.selectable(f"{words}##{key}", words == shown)[0]:
                chosen = key
            imgui.set_item_tooltip(sentence)
    imgui.end_child()
    if chosen:
        imgui.close_current_popup()
    imgui.end_combo()
    return chosen


def _controls(desk: Desk, page: SticksPage) -> list[Choice]:
    """Return the numbers and balances of this chain, and what else the mapping moves."""
    parameters = desk.controls.parameters
    here = [(key, _words(key), p.sentence) for key, p in parameters.items() if p.kind.axes]
    others = dict.fromkeys(m.control for m in page.mapping.moves if m.control not in parameters)
    return here + [(key, _words(key), "This chain has no such control.") for key in others]


def _actions() -> list[Choice]:
    return [(c.name, _words(c.name), c.sentence) for c in COMMANDS if c.is_for_sticks]


def _words(name: str) -> str:
    return name.replace("_", " ").replace(".", " ")
