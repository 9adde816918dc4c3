"""What can be done with the cue that holds, or with all that are chosen: a line, and what is behind it."""

from __future__ import annotations

from typing import Final

from imgui_bundle import ImVec2, ImVec4, imgui

from lamphouse.graph.cues.words import cue_text
from lamphouse.graph.reel.records import Cue
from lamphouse.viewer import colours
from lamphouse.viewer.models import chosen
from lamphouse.viewer.models.chosen import CueRows
from lamphouse.viewer.models.commands.table import BY_NAME
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.panels.buttons import command_button
from lamphouse.viewer.panels.ease import EASE
from lamphouse.viewer.panels.marks import marks

HELD: Final = ("name", "length", EASE)  # what a hand may hold of a cue
BUTTONS: Final = (("new", "store_cue"), ("undo", "undo"), ("redo", "redo"), ("save", "save"))


def bound(desk: Desk, panels: Panels) -> Cue | None:
    """Return the cue of which a hand holds the name, the length or the easing; else the one that holds."""
    what = panels.drag.what if panels.drag and panels.drag.what in HELD else ""
    return desk.cue_of(panels.drag, what) if what else desk.holding


def tools(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Draw the line above the list: for the cue that holds, or for all that are chosen."""
    imgui.push_style_var(imgui.StyleVar_.frame_padding, ImVec2(5 * panels.scale, 2 * panels.scale))
    imgui.push_style_var(imgui.StyleVar_.item_spacing, ImVec2(4 * panels.scale, 3 * panels.scale))
    if panels.cues.are_several:
        _of_several(desk, panels, seen)
    else:
        _history(desk, panels, seen)
        imgui.same_line()
        command_button("survey", "survey", desk, panels, seen)
        imgui.same_line()
        marks(desk, panels, seen)
    imgui.same_line()
    if imgui.button("more"):
        imgui.open_popup("more")
    imgui.pop_style_var(2)
    if imgui.begin_popup("more"):
        if panels.cues.are_several:
            _more_of_several(desk, panels, seen)
        else:
            _more_of_one(desk, panels, seen)
        imgui.end_popup()


def _history(desk: Desk, panels: Panels, seen: Seen) -> None:
    can = {"undo": desk.history.can_undo, "redo": desk.history.can_redo, "save": not desk.is_saved}
    for n, (label, name) in enumerate(BUTTONS):
        if n:
            imgui.same_line()
        command_button(name, label, desk, panels, seen, can=can.get(name, True))


def _of_several(desk: Desk, panels: Panels, seen: Seen) -> None:
    rows = panels.cues
    imgui.align_text_to_frame_padding()
    imgui.text(f"{len(rows.frames)} cues")
    imgui.set_item_tooltip(
        "Chosen by Control or Shift and a click. Controls move the cue that holds alone: "
        "carry brings what they changed to the others."
    )
    imgui.same_line()
    command_button("give_grade", "give", desk, panels, seen, can=chosen.source(desk) is not None)
    imgui.set_item_tooltip(f"{BY_NAME['give_grade'].tip(panels.keys)}\n{_given(desk, rows)}")
    imgui.same_line()
    command_button("average_chosen", "average", desk, panels, seen)
    imgui.same_line()
    command_button("even_out", "even out", desk, panels, seen)
    imgui.same_line()
    can = chosen.changed(rows, desk) is not None
    command_button("carry_change", "carry", desk, panels, seen, can=can)


def _given(desk: Desk, rows: CueRows) -> str:
    cue = chosen.source(desk)
    nodes = ", ".join(sorted(rows.nodes)) or "all"
    return "" if cue is None else f"From {_called(desk, cue)}; nodes: {nodes}"


def _more_of_several(desk: Desk, panels: Panels, seen: Seen) -> None:
    rows = panels.cues
    imgui.text_colored(ImVec4(*colours.QUIET), "give the settings of")
    for ref in desk.reel.chain.nodes:
        _node(rows, ref.name)
    imgui.text_colored(ImVec4(*colours.QUIET), "all of them where none is ticked")
    imgui.separator()
    imgui.set_next_item_width(10 * imgui.get_font_size())
    entered, rows.name = imgui.input_text_with_hint(
        "##names", "name, and 1, 2, 3", rows.name, imgui.InputTextFlags_.enter_returns_true
    )
    imgui.same_line()
    if imgui.button("rename") or entered:
        chosen.rename(rows, desk)
    for label, act in (("all neutral", chosen.reset), ("remove", chosen.remove)):
        if imgui.button(label):
            act(rows, desk)
            imgui.close_current_popup()
        imgui.same_line()
    if imgui.button("choose none"):
        chosen.choose_none(rows)
        imgui.close_current_popup()
    _history(desk, panels, seen)


def _node(rows: CueRows, name: str) -> None:
    changed, is_on = imgui.checkbox(name, name in rows.nodes)
    if changed:
        rows.nodes = rows.nodes | {name} if is_on else rows.nodes - {name}


def _more_of_one(desk: Desk, panels: Panels, seen: Seen) -> None:
    cue = desk.holding
    command_button("choose_all", "choose all", desk, panels, seen, can=bool(desk.reel.cues))
    imgui.same_line()
    command_button("sticks", "joysticks", desk, panels, seen)
    if cue is None:
        imgui.text_colored(ImVec4(*colours.QUIET), "No cue holds here yet; the first change makes one.")
        return
    _others(desk, panels, seen, cue)
    command_button("copy_grade", "copy", desk, panels, seen)
    imgui.same_line()
    command_button("match_picture", "match the picture", desk, panels, seen)
    imgui.same_line()
    if imgui.button("remove"):
        desk.remove(cue.frame)
        imgui.close_current_popup()
    imgui.same_line()
    if imgui.button("go to"):
        desk.go_to(cue.frame, seen.now)


def _others(desk: Desk, panels: Panels, seen: Seen, cue: Cue) -> None:
    """Take settings from any other cue: the one before until another is chosen or copied."""
    other = chosen.other(desk, cue)
    imgui.begin_disabled(other is None or other is cue)
    command_button("match", "match", desk, panels, seen)
    imgui.same_line()
    if imgui.button("average with") and other:
        desk.average_with(other)
    imgui.end_disabled()
    imgui.same_line()
    imgui.set_next_item_width(140 * panels.scale)
    text = _called(desk, other) if other and desk.comparison.other is not None else "the cue before"
    if imgui.begin_combo("##other", text):
        _choices(desk)
        imgui.end_combo()


def _choices(desk: Desk) -> None:
    if imgui.selectable("the cue before", desk.comparison.other is None)[0]:
        desk.comparison.other = None
    listed = desk.cues.cues
    clipper = imgui.ListClipper()
    clipper.begin(len(listed))
    while clipper.step():
        for cue in listed[clipper.display_start : clipper.display_end]:
            if imgui.selectable(f"{_called(desk, cue)}##{cue.frame}", desk.comparison.other == cue.frame)[0]:
                desk.comparison.other = cue.frame


def _called(desk: Desk, cue: Cue) -> str:
    number = (desk.cues.holding(cue.frame) or 0) + 1
    return f"{cue_text(number, cue)}  {desk.readings(cue.frame).timecode}"
