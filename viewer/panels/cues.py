"""The cue that holds: its name, how it begins, and settings taken from others."""

from __future__ import annotations

from typing import Final

from imgui_bundle import ImVec4, imgui

from lamphouse.graph.reel.records import Cue
from lamphouse.viewer import colours
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.models.visibility import MARK
from lamphouse.viewer.panels.buttons import command_button
from lamphouse.viewer.panels.ease import EASE, easing
from lamphouse.viewer.panels.grasp import follow_hand, grasped
from lamphouse.viewer.panels.marks import marks

NAME: Final = "name"
LENGTH: Final = "length"


def cues(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Draw what can be done with the cue that holds at the playhead."""
    buttons = (
        ("new cue", "store_cue", True),
        ("undo", "undo", desk.history.can_undo),
        ("redo", "redo", desk.history.can_redo),
        ("save", "save", not desk.is_saved),
    )
    for label, name, can in buttons:
        command_button(name, label, desk, panels, seen, can=can)
        imgui.same_line()
    marks(desk, panels, seen)
    imgui.same_line()
    command_button("sticks", "joysticks", desk, panels, seen)
    cue = _bound(desk, panels)
    if cue is None:
        imgui.text_colored(ImVec4(*colours.QUIET), "No cue holds here yet; the first change makes one.")
        return
    _named(desk, panels, seen, cue)
    _beginning(desk, panels, seen, cue)
    _others(desk, panels, cue)


def _bound(desk: Desk, panels: Panels) -> Cue | None:
    """Return the cue of which a hand holds the name, the length or the easing; else the one that holds."""
    what = panels.drag.what if panels.drag and panels.drag.what in (NAME, LENGTH, EASE) else ""
    return desk.cue_of(panels.drag, what) if what else desk.holding


def _named(desk: Desk, panels: Panels, seen: Seen, cue: Cue) -> None:
    imgui.set_next_item_width(190 * panels.scale)
    changed, name = imgui.input_text_with_hint("##name", "name of the cue", cue.name)
    if changed:
        desk.rename(cue.frame, name, grasped(desk, panels, NAME))
    follow_hand(desk, panels, NAME)
    imgui.same_line()
    if imgui.button("remove"):
        desk.remove(cue.frame)
    imgui.same_line()
    if imgui.button("go to"):
        desk.go_to(cue.frame, seen.now)


def _beginning(desk: Desk, panels: Panels, seen: Seen, cue: Cue) -> None:
    imgui.align_text_to_frame_padding()
    imgui.text("length")
    imgui.same_line()
    imgui.set_next_item_width(92 * panels.scale)
    changed, over = imgui.drag_int("##over", cue.length, 0.2, 0, cue.frame, "%d frames")
    if changed:
        desk.set_length(cue.frame, over, grasped(desk, panels, LENGTH))
    follow_hand(desk, panels, LENGTH)
    imgui.set_item_tooltip("How long its transition is; 0 is a cut; drag, or double-click to type")
    if cue.length:
        easing(desk, panels, cue)
    _meter(panels, seen, cue)


def _meter(panels: Panels, seen: Seen, cue: Cue) -> None:
    """Write how visible the transition is, against the mark of one CIEDE2000 a frame (a choice of ours)."""
    visible = seen.visible
    if not cue.length or visible is None:
        # A line in any case: what stands below must not jump from cue to cue.
        imgui.text_colored(
            ImVec4(*colours.QUIET), "change a frame ..." if cue.length else "begins with a cut"
        )
        return
    colour = colours.BRIGHT if visible.is_over else colours.QUIET
    text = f"change a frame {visible.step:.2f}, a second {visible.second:.1f} CIEDE2000"
    imgui.text_colored(ImVec4(*colour), text + (": may be seen" if visible.is_over else ""))
    imgui.set_item_tooltip(f"The largest of 256 pixels; a step of {MARK:g} a frame is our own mark.")


def _others(desk: Desk, panels: Panels, cue: Cue) -> None:
    """Take settings from any other cue: the one before until another is chosen or copied."""
    other = _other(desk, panels, cue)
    imgui.begin_disabled(other is None or other is cue)
    if imgui.button("match") and other:
        desk.match(other)
    imgui.same_line()
    if imgui.button("average with") and other:
        desk.average_with(other)
    imgui.end_disabled()
    imgui.same_line()
    imgui.set_next_item_width(140 * panels.scale)
    text = _called(desk, other) if other and desk.comparison.other is not None else "the cue before"
    if imgui.begin_combo("##other", text):
        _choices(desk, panels)
        imgui.end_combo()
    imgui.same_line()
    if imgui.button("copy"):
        desk.comparison.copied = desk.comparison.other = cue.frame
    imgui.set_item_tooltip("Choose this cue for others to match, and to compare the picture with")


def _other(desk: Desk, panels: Panels, cue: Cue) -> Cue | None:
    """Return the chosen cue, while it is there, else the one before `cue`."""
    listed = desk.cues.cues
    if desk.comparison.other is not None:
        index = desk.cues.holding(desk.comparison.other)
        if index is not None and listed[index].frame == desk.comparison.other:
            return listed[index]
        desk.comparison.other = None
    before = desk.cues.holding(cue.frame - 1)
    return None if before is None else listed[before]


def _choices(desk: Desk, panels: Panels) -> None:
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
    return f"{cue.name}  {desk.readings(cue.frame).timecode}".strip()
