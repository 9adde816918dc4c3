"""The controls of every node, from its declaration alone: a plug-in's appear unasked.

A triple is a balance pad beside its numbers, a white one under its field, a number a slider that takes
typing, a curve its points, a choice a list. Each node has its switch; what is not neutral can be made so.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any, Final, NamedTuple

from imgui_bundle import ImVec4, imgui

from lamphouse.graph.chain.resolve import missing, resolve
from lamphouse.nodes.every_kind import of_every_kind
from lamphouse.nodes.framing import FRAMING, PARAMETERS, SENTENCE
from lamphouse.nodes.parameter import Kind, Parameter
from lamphouse.viewer import colours
from lamphouse.viewer.models.commands.table import BY_NAME, run
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.grips import grips_of
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.panels.buttons import ring_button
from lamphouse.viewer.panels.curve import curve
from lamphouse.viewer.panels.frame import frame_row
from lamphouse.viewer.panels.numbers import numbers, one_number, typed_text
from lamphouse.viewer.panels.pad import pad
from lamphouse.viewer.panels.tracks import tracks

LABEL: Final = 146.0
PAD: Final = 160.0  # pixels of a balance that is not among the three above
INDENT: Final = 28.0


class Part(NamedTuple):
    """What has a switch and controls of its own: a node of the chain, or framing."""

    name: str
    sentence: str
    parameters: Sequence[Parameter]
    above: Collection[str]  # what is among the balances and masters that are always there


def controls(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Draw the chain's nodes in the order of the chain, then framing, folded as they were left."""
    _buttons(desk, panels, seen)
    _said(desk)
    above = [k for grip in grips_of(desk.controls.parameters, panels.opened) for k in grip.keys]
    gone = {ref.name for ref in missing(desk.reel.chain, desk.catalogue)}
    for ref in desk.reel.chain.nodes:
        if ref.name in gone:
            text = (
                f"{ref.name}: there is no {ref.kind} here; its picture passes through, its settings are kept."
            )
            imgui.push_text_wrap_pos(0.0)
            imgui.text_colored(ImVec4(*colours.BRIGHT), text)
            imgui.pop_text_wrap_pos()
            continue
        node = resolve(ref, desk.catalogue)
        if node.parameters:
            _part(desk, panels, seen, Part(ref.name, node.sentence, node.parameters, above))
    _part(desk, panels, seen, Part(FRAMING, SENTENCE, PARAMETERS, above))


def _said(desk: Desk) -> None:
    """Say which cue a change belongs to."""
    cue = desk.holding
    where = f"{cue.name or 'cue'} at {desk.readings(cue.frame).timecode}" if cue else "a new cue at the start"
    moving = desk.cues.arriving(desk.frame) is not None
    imgui.push_text_wrap_pos(0.0)
    colour = colours.ACCENT if moving else colours.QUIET
    imgui.text_colored(ImVec4(*colour), f"Sets {where}{', moving' if moving else ''}")
    imgui.pop_text_wrap_pos()


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
    imgui.same_line()
    tracks(desk, panels, seen)


def _part(desk: Desk, panels: Panels, seen: Seen, part: Part) -> None:
    name = part.name
    imgui.push_id(name)
    is_on = desk.is_on(name)
    _switch(desk, name, is_on)
    imgui.same_line()
    if imgui.selectable(name.replace("_", " "), name in panels.opened)[0]:
        panels.fold(name)
    if panels.brings == name:
        imgui.set_scroll_here_y(0.0)
        panels.brings = ""
    if imgui.is_item_hovered():
        imgui.set_item_tooltip(part.sentence)
    if name in panels.opened:
        if name == FRAMING:
            frame_row(desk, panels, seen)
        imgui.begin_disabled(not is_on)
        for parameter in part.parameters:
            _parameter(desk, panels, seen, part, parameter)
        imgui.end_disabled()
        imgui.separator()
    imgui.pop_id()


def _switch(desk: Desk, name: str, is_on: bool) -> None:
    changed, now = imgui.checkbox("##on", is_on)
    if changed:
        desk.set({f"{name}.on": "on" if now else "off"})


def _parameter(desk: Desk, panels: Panels, seen: Seen, part: Part, parameter: Parameter) -> None:
    imgui.push_id(parameter.name)
    key = f"{part.name}.{parameter.name}"
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
    if key in part.above:
        imgui.text_colored(ImVec4(*colours.QUIET), "above")
    else:
        DRAWN[parameter.kind](desk, panels, seen, key, parameter, value=value)
    imgui.end_disabled()
    imgui.pop_id()


def _room() -> float:
    """Return the pixels that a control has beside the button that makes it neutral."""
    gap = imgui.get_style().item_spacing.x
    return imgui.get_content_region_avail().x - imgui.get_frame_height() - gap


def _reset(desk: Desk, panels: Panels, key: str, parameter: Parameter, value: Any) -> None:
    if value != parameter.default:
        imgui.same_line()
        if ring_button("neutral", "Back to neutral", panels.scale):
            desk.reset(key)


def _number(desk: Desk, panels: Panels, seen: Seen, key: str, parameter: Parameter, *, value: float) -> None:
    one_number(desk, panels, key, _room())
    _reset(desk, panels, key, parameter, value)


def _triple(desk: Desk, panels: Panels, seen: Seen, key: str, parameter: Parameter, *, value: Any) -> None:
    imgui.begin_group()
    room = _room()
    pad(desk, panels, seen, key, parameter, value=value, size=min(room, PAD * panels.scale))
    imgui.end_group()
    _reset(desk, panels, key, parameter, value)
    imgui.indent(INDENT * panels.scale)
    numbers(desk, panels, key, imgui.get_content_region_avail().x)
    imgui.unindent(INDENT * panels.scale)


def _white(desk: Desk, panels: Panels, seen: Seen, key: str, parameter: Parameter, *, value: Any) -> None:
    left = imgui.get_cursor_pos_x()
    _typed(desk, panels, seen, key, parameter, value=value)
    imgui.set_cursor_pos_x(left)
    pad(desk, panels, seen, key, parameter, value=value, size=min(_room(), PAD * panels.scale))


def _choice(desk: Desk, panels: Panels, seen: Seen, key: str, parameter: Parameter, *, value: str) -> None:
    imgui.set_next_item_width(_room())
    if imgui.begin_combo("##v", value):
        for choice in parameter.choices:
            if imgui.selectable(choice, choice == value)[0]:
                desk.set({key: choice})
        imgui.end_combo()


def _typed(desk: Desk, panels: Panels, seen: Seen, key: str, parameter: Parameter, *, value: Any) -> None:
    """Draw a field, which is read as on the command line."""
    typed_text(desk, panels, key, _room())
    _reset(desk, panels, key, parameter, value)


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
