"""The controls of every node, from its declaration alone: a plug-in's appear unasked.

A triple is a balance pad beside its numbers, a white one under its field, a number a slider that takes
typing, a curve its points, a choice a list. Each node has its switch; what is not neutral can be made so.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final, NamedTuple

from imgui_bundle import ImVec2, imgui

from lamphouse.graph.chain.resolve import missing, resolve
from lamphouse.nodes.every_kind import of_every_kind
from lamphouse.nodes.framing import FRAMING, PARAMETERS, SENTENCE
from lamphouse.nodes.parameter import CHANNELS, Kind, Parameter
from lamphouse.nodes.values import Travel
from lamphouse.viewer import colours
from lamphouse.viewer.models.commands.table import BY_NAME, run
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.panels import look
from lamphouse.viewer.panels.curve import curve
from lamphouse.viewer.panels.frame import frame_row
from lamphouse.viewer.panels.grasp import follow_hand, grasped
from lamphouse.viewer.panels.pad import pad

LABEL: Final = 146.0
BUTTONS: Final = 136.0
FINE: Final = 0.1


class Part(NamedTuple):
    """What has a switch and controls of its own: a node of the chain, or framing."""

    name: str
    sentence: str
    parameters: Sequence[Parameter]


def controls(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Draw the chain's nodes in the order of the chain, then framing; one of them is open."""
    cue = desk.holding
    where = f"{cue.name or 'cue'} at {desk.readings(cue.frame).timecode}" if cue else "a new cue at the start"
    moving = desk.cues.arriving(desk.frame) is not None
    text = f"Sets {where}" + (", moving" if moving else "")
    at, room = imgui.get_cursor_screen_pos(), imgui.get_content_region_avail().x
    buttons = BUTTONS * panels.scale
    imgui.push_clip_rect(
        imgui.ImVec2(at.x, at.y), imgui.ImVec2(at.x + room - buttons - look.GAP, at.y + 99), True
    )
    imgui.text_colored(imgui.ImVec4(*(colours.ACCENT if moving else colours.QUIET)), text)
    imgui.pop_clip_rect()
    imgui.same_line(room - buttons)
    _buttons(desk, panels, seen)
    gone = {ref.name for ref in missing(desk.reel.chain, desk.catalogue)}
    for ref in desk.reel.chain.nodes:
        if ref.name in gone:
            text = (
                f"{ref.name}: there is no {ref.kind} here; its picture passes through, its settings are kept."
            )
            imgui.push_text_wrap_pos(0.0)
            imgui.text_colored(imgui.ImVec4(*colours.BRIGHT), text)
            imgui.pop_text_wrap_pos()
            continue
        node = resolve(ref, desk.catalogue)
        if node.parameters:
            _part(desk, panels, seen, Part(ref.name, node.sentence, node.parameters))
    _part(desk, panels, seen, Part(FRAMING, SENTENCE, PARAMETERS))


def _buttons(desk: Desk, panels: Panels, seen: Seen) -> None:
    if imgui.small_button("neutral"):
        desk.reset()
    imgui.set_item_tooltip(
        "Everything that this cue sets, back to where it changes nothing; undo brings it back"
    )
    imgui.same_line()
    command = BY_NAME["chain"]
    if imgui.small_button("no chain" if panels.chain.is_open else "chain"):
        run(command, desk, panels, seen.now)
    imgui.set_item_tooltip(command.tip(panels.keys))


def _part(desk: Desk, panels: Panels, seen: Seen, part: Part) -> None:
    name = part.name
    imgui.push_id(name)
    is_on = desk.is_on(name)
    _switch(desk, name, is_on)
    imgui.same_line()
    if imgui.selectable(name.replace("_", " "), panels.node == name)[0]:
        panels.node = "" if panels.node == name else name
    if imgui.is_item_hovered():
        imgui.set_item_tooltip(part.sentence)
    if panels.node == name:
        if name == FRAMING:
            frame_row(desk, panels, seen)
        imgui.begin_disabled(not is_on)
        for parameter in part.parameters:
            _parameter(desk, panels, seen, f"{name}.{parameter.name}", parameter)
        imgui.end_disabled()
        imgui.separator()
    imgui.pop_id()


def _switch(desk: Desk, name: str, is_on: bool) -> None:
    changed, now = imgui.checkbox("##on", is_on)
    if changed:
        desk.set({f"{name}.on": "on" if now else "off"})


def _parameter(desk: Desk, panels: Panels, seen: Seen, key: str, parameter: Parameter) -> None:
    imgui.push_id(parameter.name)
    value: Any = desk.own(key, panels.drag)
    is_on = desk.is_on(key)
    _switch(desk, key, is_on)
    imgui.set_item_tooltip("Off, it changes nothing, and what is set on it is kept")
    imgui.same_line()
    imgui.begin_disabled(not is_on)
    imgui.align_text_to_frame_padding()
    imgui.text(parameter.name.replace("_", " "))
    if imgui.is_item_hovered():
        unit = f" ({parameter.unit})" if parameter.unit else ""
        imgui.set_item_tooltip(f"{parameter.sentence}{unit}")
    imgui.same_line(LABEL * panels.scale)
    DRAWN[parameter.kind](desk, panels, seen, key, parameter, value=value)
    imgui.end_disabled()
    imgui.pop_id()


def _reset(desk: Desk, key: str, parameter: Parameter, value: Any) -> None:
    if value != parameter.default:
        imgui.same_line()
        if imgui.small_button("neutral"):
            desk.reset(key)


def _number(desk: Desk, panels: Panels, seen: Seen, key: str, parameter: Parameter, *, value: float) -> None:
    imgui.set_next_item_width(-84 * imgui.get_style().font_scale_main)
    flags = imgui.SliderFlags_.always_clamp
    if parameter.travel is Travel.LOG:
        flags |= imgui.SliderFlags_.logarithmic
    digits = 0 if parameter.step >= 1 else 2 if parameter.step >= 0.01 else 3
    changed, now = imgui.slider_float("##v", value, parameter.low, parameter.high, f"%.{digits}f", flags)
    if imgui.is_item_active() and imgui.get_io().key_shift:
        panels.finely = key
    if panels.finely == key:
        moved = imgui.get_io().mouse_delta.x
        if moved and not imgui.is_item_activated():  # how the hand came there is no part of the drag
            step = _finely(parameter, moved / imgui.get_item_rect_size().x)
            desk.nudge(key, (step,), grasped(desk, panels, key))
    elif changed:
        desk.set({key: parameter.within(now)}, grasped(desk, panels, key))
    follow_hand(desk, panels, key)
    if imgui.is_item_deactivated():
        panels.finely = ""
    imgui.set_item_tooltip("Drag, finely with Shift; Control and a click to type")
    _reset(desk, key, parameter, value)


def _finely(parameter: Parameter, share: float) -> float:
    """Return what a part of the slider's way means to `Desk.nudge`, a tenth of what it means else."""
    return FINE * share * parameter.span


def _triple(desk: Desk, panels: Panels, seen: Seen, key: str, parameter: Parameter, *, value: Any) -> None:
    imgui.begin_group()
    pad(desk, panels, seen, key, parameter, value=value)
    imgui.end_group()
    imgui.same_line()
    imgui.begin_group()
    imgui.push_item_width(86 * panels.scale)
    is_light = parameter.parts == CHANNELS
    for channel, part in enumerate(parameter.parts):
        colour = colours.CHANNELS[channel] if is_light else colours.TEXT
        shown = "%.3f" if is_light else f"{part[0].upper()} %.3f"
        imgui.push_style_color(imgui.Col_.text, imgui.ImVec4(*colour))
        speed = parameter.step / 4
        changed, now = imgui.drag_float(
            f"##{channel}", value[channel], speed, parameter.low, parameter.high, shown
        )
        imgui.pop_style_color()
        imgui.set_item_tooltip(part)
        if changed:
            triple = [*value[:channel], parameter.within(now), *value[channel + 1 :]]
            desk.set({key: triple}, grasped(desk, panels, key))
        follow_hand(desk, panels, key)
    imgui.pop_item_width()
    if imgui.button("neutral", ImVec2(86 * panels.scale, 0)):
        desk.reset(key)
    imgui.end_group()


def _white(desk: Desk, panels: Panels, seen: Seen, key: str, parameter: Parameter, *, value: Any) -> None:
    left = imgui.get_cursor_pos_x()
    _typed(desk, panels, seen, key, parameter, value=value)
    imgui.set_cursor_pos_x(left)
    pad(desk, panels, seen, key, parameter, value=value)


def _choice(desk: Desk, panels: Panels, seen: Seen, key: str, parameter: Parameter, *, value: str) -> None:
    imgui.set_next_item_width(-84 * imgui.get_style().font_scale_main)
    if imgui.begin_combo("##v", value):
        for choice in parameter.choices:
            if imgui.selectable(choice, choice == value)[0]:
                desk.set({key: choice})
        imgui.end_combo()


def _typed(desk: Desk, panels: Panels, seen: Seen, key: str, parameter: Parameter, *, value: Any) -> None:
    """Draw a field, which is read as on the command line."""
    shown = parameter.kind.text(value)
    imgui.set_next_item_width(-84 * imgui.get_style().font_scale_main)
    flags = imgui.InputTextFlags_.enter_returns_true | imgui.InputTextFlags_.auto_select_all
    entered, now = imgui.input_text("##v", shown, flags)
    if entered and now != shown:
        desk.type(key, now)
    _reset(desk, key, parameter, value)


# How each kind of parameter is drawn; one with no handle of its own is typed.
DRAWN: Final = of_every_kind(
    {
        Kind.NUMBER: _number,
        Kind.TRIPLE: _triple,
        Kind.WHITE: _white,
        Kind.POINTS: curve,
        Kind.CHOICE: _choice,
        Kind.FILE: _typed,
    },
    "The desk's table of controls",
)
