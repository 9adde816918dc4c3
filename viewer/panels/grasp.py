"""What is drawn last, taken hold of and let go: from then on it changes the cue that it was grasped of."""

from __future__ import annotations

from imgui_bundle import imgui

from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.drags import Drag
from lamphouse.viewer.models.panels import Panels


def grasped(desk: Desk, panels: Panels, what: str) -> Drag:
    """Return the drag of `what`: that in the hand, or one that begins now, of the cue that holds."""
    if panels.drag is None or panels.drag.what != what:
        panels.drag = desk.grasp(what)
    return panels.drag


def follow_hand(desk: Desk, panels: Panels, what: str) -> None:
    """Begin a drag where the item just drawn was taken hold of, and end it where that was let go."""
    if imgui.is_item_activated():
        grasped(desk, panels, what)
    if imgui.is_item_deactivated():
        panels.drag = None


def stepped(desk: Desk, panels: Panels, what: str) -> Drag:
    """Return the drag of `what` by wheel or arrows: all their steps on one control are one to undo."""
    now, last = desk.grasp(what), panels.stepped
    if last is None or (last.what, last.cue) != (now.what, now.cue):
        panels.stepped = last = now
    return last
