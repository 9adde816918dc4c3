"""The marks of the reel in a list that one button opens: set, named, gone to, taken out; and the start."""

from __future__ import annotations

from typing import Final

from imgui_bundle import ImVec2, ImVec4, imgui

from lamphouse.graph.edits.counters import with_start
from lamphouse.graph.edits.marks import mark_text, remove_mark, rename_mark
from lamphouse.graph.reel.records import Mark
from lamphouse.graph.time.rate import parse_rate
from lamphouse.graph.time.timecode import can_drop
from lamphouse.viewer import colours
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.panels.buttons import begin_popup_below, command_button
from lamphouse.viewer.panels.focus import FLAT
from lamphouse.viewer.panels.grasp import follow_hand, grasped
from lamphouse.viewer.panels.strip_marks import draw_shape, hatched

ROWS: Final = 10  # shown at once; the others are reached by the wheel
SHAPE: Final = 24.0
NAME: Final = 150.0
WIDE: Final = 560.0
BUTTONS: Final = (
    (
        ("mark here", "mark"),
        ("soft shot", "soft_shot"),
        ("look again", "flag"),
        ("remove mark here", "unmark"),
    ),
    (
        ("< mark", "previous_mark"),
        ("mark >", "next_mark"),
        ("head mark", "head_mark"),
        ("zero counters here", "zero"),
    ),
)


def marks(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Draw the button, and the list once it is open."""
    if imgui.button("marks"):
        imgui.open_popup("marks")
    imgui.set_item_tooltip("Places, soft shots, what to look at again, and the head mark")
    if begin_popup_below("marks"):
        _buttons(desk, panels, seen)
        _start(desk, panels)
        _list(desk, panels, seen)
        imgui.end_popup()


def _buttons(desk: Desk, panels: Panels, seen: Seen) -> None:
    for row in BUTTONS:
        for label, name in row:
            command_button(name, label, desk, panels, seen)
            imgui.same_line()
        imgui.new_line()


def _start(desk: Desk, panels: Panels) -> None:
    """Draw the record timecode at the head mark, to be typed, and whether it counts drop-frame."""
    imgui.align_text_to_frame_padding()
    imgui.text("timecode at the head mark")
    imgui.same_line()
    imgui.set_next_item_width(NAME * panels.scale)
    flags = imgui.InputTextFlags_.enter_returns_true | imgui.InputTextFlags_.auto_select_all
    entered, typed = imgui.input_text("##start", desk.readings(desk.reel.head_mark).timecode, flags)
    if entered:
        desk.edit(lambda reel: with_start(reel, typed))
    if can_drop(parse_rate(desk.reel.rate)):
        imgui.same_line()
        changed, drops = imgui.checkbox("drop-frame", desk.reel.counting == "drop")
        if changed:
            desk.edit(lambda reel: with_start(reel, counting="drop" if drops else "non-drop"))


def _list(desk: Desk, panels: Panels, seen: Seen) -> None:
    found = desk.reel.marks
    if not found:
        imgui.text_colored(ImVec4(*colours.QUIET), "No marks yet.")
        return
    tall = imgui.get_frame_height_with_spacing()
    size = ImVec2(WIDE * panels.scale, min(ROWS, len(found)) * tall)
    if imgui.begin_child("list", size, FLAT):
        clipper = imgui.ListClipper()
        clipper.begin(len(found), tall)
        while clipper.step():
            for mark in found[clipper.display_start : clipper.display_end]:
                _row(desk, panels, seen, mark)
    imgui.end_child()


def _row(desk: Desk, panels: Panels, seen: Seen, mark: Mark) -> None:
    imgui.push_id(f"{mark.frame} {mark.kind}")
    _shape(mark, panels.scale)
    imgui.same_line(SHAPE * panels.scale)
    imgui.set_next_item_width(NAME * panels.scale)
    named = f"name {mark.frame} {mark.kind}"
    changed, name = imgui.input_text_with_hint("##mark", "name", mark.name)
    if changed:
        drag = grasped(desk, panels, named)
        desk.edit(lambda reel: rename_mark(reel, mark.frame, mark.kind, name), drag)
    follow_hand(desk, panels, named)
    imgui.same_line()
    if imgui.button("go to"):
        desk.go_to(mark.frame, seen.now)
    imgui.same_line()
    if imgui.button("remove"):
        desk.edit(lambda reel: remove_mark(reel, mark.frame, mark.kind))
    imgui.same_line()
    imgui.text(desk.readings(mark.frame).timecode)
    imgui.same_line()
    imgui.text_colored(ImVec4(*colours.QUIET), mark_text(mark))
    if mark.note and imgui.is_item_hovered():
        imgui.set_tooltip(mark.note)
    imgui.pop_id()


def _shape(mark: Mark, scale: float) -> None:
    at = imgui.get_cursor_screen_pos()
    imgui.align_text_to_frame_padding()
    imgui.text("")
    middle = at.y + imgui.get_frame_height() / 2
    if mark.kind == "soft":
        left, right = at.x + scale, at.x + 17 * scale
        hatched((left, middle - 5 * scale), (right, middle + 4 * scale), (left, right), scale)
    else:
        draw_shape(mark.kind, at.x + 7 * scale, middle + 8 * scale, scale)
