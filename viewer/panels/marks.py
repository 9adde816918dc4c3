"""The marks of the reel in a list that one button opens: set, named, gone to, taken out."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from imgui_bundle import ImVec2, ImVec4, imgui

from lamphouse.graph.marks import mark_text, remove_mark, rename_mark
from lamphouse.graph.reel import Mark
from lamphouse.viewer import colours
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.marking import go_to_head, go_to_mark, mark_here, mark_soft, unmark, zero_here
from lamphouse.viewer.models.screen import Screen
from lamphouse.viewer.panels.strip_marks import draw_shape, hatched

ROWS: Final = 10  # shown at once; the others are reached by the wheel
SHAPE: Final = 24.0
NAME: Final = 150.0
WIDE: Final = 560.0
Buttons = tuple[tuple[str, str, Callable[[], None]], ...]


def marks(desk: Desk, screen: Screen) -> None:
    """Draw the button, and the list once it is open."""
    if imgui.button("marks"):
        imgui.open_popup("marks")
    imgui.set_item_tooltip("Places, soft shots, what to look at again, and the head mark")
    corner = imgui.get_item_rect_max()
    imgui.set_next_window_pos(ImVec2(corner.x, corner.y + 4), imgui.Cond_.always, ImVec2(1, 0))
    if imgui.begin_popup("marks"):
        _buttons(desk, screen)
        _list(desk, screen)
        imgui.end_popup()


def _buttons(desk: Desk, screen: Screen) -> None:
    rows: tuple[Buttons, ...] = (
        (
            ("mark here", "Mark this frame (M)", lambda: mark_here(desk)),
            ("soft shot", "This shot is out of focus, from its cue to the next (O)", lambda: mark_soft(desk)),
            ("look again", "Flag this frame (F)", lambda: mark_here(desk, "check")),
            ("remove mark here", "Take the mark here out (X)", lambda: unmark(desk)),
        ),
        (
            ("< mark", "Go to the mark before (,)", lambda: go_to_mark(desk, -1, screen.now)),
            ("mark >", "Go to the next mark (.)", lambda: go_to_mark(desk, 1, screen.now)),
            ("head mark", "Go to where the counters read zero (H)", lambda: go_to_head(desk, screen.now)),
            ("zero counters here", "The head mark is at this frame (Ctrl H)", lambda: zero_here(desk)),
        ),
    )
    for row in rows:
        for label, tip, act in row:
            if imgui.button(label):
                act()
            imgui.set_item_tooltip(tip)
            imgui.same_line()
        imgui.new_line()


def _list(desk: Desk, screen: Screen) -> None:
    found = desk.reel.marks
    if not found:
        imgui.text_colored(ImVec4(*colours.QUIET), "No marks yet.")
        return
    tall = imgui.get_frame_height_with_spacing()
    size = ImVec2(WIDE * screen.scale, min(ROWS, len(found)) * tall)
    if imgui.begin_child("list", size):
        clipper = imgui.ListClipper()
        clipper.begin(len(found), tall)
        while clipper.step():
            for mark in found[clipper.display_start : clipper.display_end]:
                _row(desk, screen, mark)
    imgui.end_child()


def _row(desk: Desk, screen: Screen, mark: Mark) -> None:
    imgui.push_id(f"{mark.frame} {mark.kind}")
    _shape(mark, screen.scale)
    imgui.same_line(SHAPE * screen.scale)
    imgui.set_next_item_width(NAME * screen.scale)
    changed, name = imgui.input_text_with_hint("##mark", "name", mark.name)
    if changed:
        named = f"name {mark.frame} {mark.kind}"
        desk.edit(lambda reel: rename_mark(reel, mark.frame, mark.kind, name), drag=named)
    if imgui.is_item_deactivated():
        desk.history.end_drag()
    imgui.same_line()
    if imgui.button("go to"):
        desk.go_to(mark.frame, screen.now)
    imgui.same_line()
    if imgui.button("remove"):
        desk.edit(lambda reel: remove_mark(reel, mark.frame, mark.kind))
    imgui.same_line()
    imgui.text(desk.readings(mark.frame).timecode)
    imgui.same_line()
    imgui.text_colored(ImVec4(*colours.QUIET), mark_text(mark))
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
