"""The cue that holds: its name, how it arrives, and settings taken from others."""

from __future__ import annotations

from imgui_bundle import ImVec4, imgui

from lamphouse.graph.reel import Cue
from lamphouse.viewer import colours
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.screen import Screen
from lamphouse.viewer.models.visibility import MARK
from lamphouse.viewer.panels.ease import easing
from lamphouse.viewer.panels.marks import marks


def cues(desk: Desk, screen: Screen) -> None:
    """Draw what can be done with the cue that holds at the playhead."""
    if imgui.button("new cue"):
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
    imgui.same_line()
    marks(desk, screen)
    imgui.same_line()
    if imgui.button("sticks"):
        screen.sticks.turn()
    imgui.set_item_tooltip("What the sticks move, and how to change it (F2)")
    if cue is None:
        imgui.text_colored(ImVec4(*colours.QUIET), "No cue holds here yet; the first change makes one.")
        return
    _named(desk, screen, cue)
    _arrival(desk, screen, cue)
    _others(desk, screen, cue)


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
    imgui.text("over")
    imgui.same_line()
    imgui.set_next_item_width(92 * screen.scale)
    changed, over = imgui.drag_int("##over", cue.over, 0.2, 0, cue.frame, "%d frames")
    if changed:
        desk.arrive(cue.frame, over, drag=f"over {cue.frame}")
    if imgui.is_item_deactivated():
        desk.history.end_drag()
    imgui.set_item_tooltip("How long it takes to arrive; 0 is a cut; drag, or double-click to type")
    if cue.over:
        easing(desk, screen, cue)
    _meter(screen, cue)


def _meter(screen: Screen, cue: Cue) -> None:
    """Write how visible the transition is, against the mark of one CIEDE2000 a frame (a choice of ours)."""
    visible = screen.visible
    if not cue.over or visible is None:
        # A line in any case: what stands below must not jump from cue to cue.
        imgui.text_colored(ImVec4(*colours.QUIET), "change a frame ..." if cue.over else "arrives by a cut")
        return
    colour = colours.BRIGHT if visible.is_over else colours.QUIET
    said = f"change a frame {visible.step:.2f}, a second {visible.second:.1f} CIEDE2000"
    imgui.text_colored(ImVec4(*colour), said + (": may be seen" if visible.is_over else ""))
    imgui.set_item_tooltip(f"The largest of 256 pixels; a step of {MARK:g} a frame is our own mark.")


def _others(desk: Desk, screen: Screen, cue: Cue) -> None:
    """Take settings from any other cue: the one before until another is chosen or copied."""
    other = _other(desk, screen, cue)
    imgui.begin_disabled(other is None or other is cue)
    if imgui.button("same as") and other:
        desk.same_as(other)
    imgui.same_line()
    if imgui.button("half way to") and other:
        desk.pull_toward(other)
    imgui.end_disabled()
    imgui.same_line()
    imgui.set_next_item_width(140 * screen.scale)
    said = _called(desk, other) if other and screen.other_cue is not None else "the cue before"
    if imgui.begin_combo("##other", said):
        _choices(desk, screen)
        imgui.end_combo()
    imgui.same_line()
    if imgui.button("copy"):
        desk.comparison.copied = screen.other_cue = cue.frame
    imgui.set_item_tooltip("Choose this cue for others to be the same as, and to hold the picture against")


def _other(desk: Desk, screen: Screen, cue: Cue) -> Cue | None:
    """Return the chosen cue, while it is there, else the one before `cue`."""
    listed = desk.cues.cues
    if screen.other_cue is not None:
        index = desk.cues.holding(screen.other_cue)
        if index is not None and listed[index].frame == screen.other_cue:
            return listed[index]
        screen.other_cue = None
    before = desk.cues.holding(cue.frame - 1)
    return None if before is None else listed[before]


def _choices(desk: Desk, screen: Screen) -> None:
    if imgui.selectable("the cue before", screen.other_cue is None)[0]:
        screen.other_cue = None
    listed = desk.cues.cues
    clipper = imgui.ListClipper()
    clipper.begin(len(listed))
    while clipper.step():
        for cue in listed[clipper.display_start : clipper.display_end]:
            if imgui.selectable(f"{_called(desk, cue)}##{cue.frame}", screen.other_cue == cue.frame)[0]:
                screen.other_cue = cue.frame


def _called(desk: Desk, cue: Cue) -> str:
    return f"{cue.name}  {desk.readings(cue.frame).timecode}".strip()
