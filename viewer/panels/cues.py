"""The cue that holds: its name, how it arrives, and settings taken from others."""

from __future__ import annotations

from imgui_bundle import ImVec2, ImVec4, imgui

from lamphouse.graph.edit import cue_at
from lamphouse.graph.reel import Cue
from lamphouse.viewer import look
from lamphouse.viewer.desk import Desk
from lamphouse.viewer.marks import previous_cue
from lamphouse.viewer.screen import Screen
from lamphouse.viewer.visibility import MARK


def cues(desk: Desk, screen: Screen) -> None:
    """Draw what can be done with the cue that holds at the playhead."""
    if imgui.button("new cue here"):
        desk.store()
    imgui.set_item_tooltip("Put a cue at the playhead (Return); it begins with what is set there")
    cue = desk.holding
    imgui.same_line()
    imgui.begin_disabled(not desk.history.can_undo)
    if imgui.button("undo"):
        desk.undo()
    imgui.end_disabled()
    imgui.same_line()
    imgui.begin_disabled(not desk.history.can_redo)
    if imgui.button("redo"):
        desk.redo()
    imgui.end_disabled()
    imgui.same_line()
    imgui.begin_disabled(desk.is_saved)
    if imgui.button("save"):
        desk.save()
    imgui.end_disabled()
    if cue is None:
        imgui.text_colored(ImVec4(*look.QUIET), "No cue holds here yet; the first change makes one.")
        return
    _named(desk, screen, cue)
    _arrival(desk, screen, cue)
    _others(desk, cue)


def _named(desk: Desk, screen: Screen, cue: Cue) -> None:
    imgui.set_next_item_width(190 * screen.scale)
    changed, name = imgui.input_text_with_hint("##name", "name of the cue", cue.name)
    if changed:
        desk.rename(cue.frame, name)
    imgui.same_line()
    if imgui.button("remove"):
        desk.remove(cue.frame)
    imgui.same_line()
    if imgui.button("go to"):
        desk.go_to(cue.frame, screen.now)


def _arrival(desk: Desk, screen: Screen, cue: Cue) -> None:
    imgui.align_text_to_frame_padding()
    imgui.text("arrives over")
    imgui.same_line()
    imgui.set_next_item_width(70 * screen.scale)
    changed, over = imgui.drag_int("frames", cue.over, 0.2, 0, cue.frame)
    if changed:
        desk.arrive(cue.frame, over, drag=f"over {cue.frame}")
    if imgui.is_item_deactivated():
        desk.history.end_drag()
    imgui.set_item_tooltip("0 is a cut; drag, or double-click to type")
    for ease in ("even", "soft") if cue.over else ():
        imgui.same_line()
        if imgui.radio_button(ease, cue.ease == ease):
            desk.ease(cue.frame, ease)
    _meter(screen, cue)


def _meter(screen: Screen, cue: Cue) -> None:
    """Write how visible the transition is, against the mark of one CIEDE2000 a frame (a choice of ours)."""
    visible = screen.visible
    if not cue.over or visible is None:
        # A line in any case: what stands below must not jump from cue to cue.
        imgui.text_colored(ImVec4(*look.QUIET), "change a frame ..." if cue.over else "arrives by a cut")
        return
    colour = look.BRIGHT if visible.is_over else look.QUIET
    said = f"change a frame {visible.step:.2f}, a second {visible.second:.1f} CIEDE2000"
    imgui.text_colored(ImVec4(*colour), said + (": may be seen" if visible.is_over else ""))
    imgui.set_item_tooltip(f"The largest of 256 pixels; a step of {MARK:g} a frame is our own mark.")


def _others(desk: Desk, cue: Cue) -> None:
    before = previous_cue(desk.reel, cue.frame)
    other = cue_at(desk.reel, before) if before is not None else None
    imgui.begin_disabled(other is None)
    if imgui.button("same as before") and other:
        desk.same_as(other)
    imgui.same_line()
    if imgui.button("half way to it") and other:
        desk.pull_toward(other)
    imgui.end_disabled()
    imgui.same_line()
    if imgui.button("copy"):
        desk.comparison.copied = cue.frame
    frame = desk.comparison.copied
    copied = cue_at(desk.reel, frame) if frame is not None else None
    imgui.same_line()
    imgui.begin_disabled(copied is None or copied.frame == cue.frame)
    if imgui.button("paste", ImVec2(0, 0)) and copied:
        desk.same_as(copied)
    imgui.end_disabled()
