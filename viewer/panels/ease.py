"""The easing of a transition: even, soft, or drawn in a small square, time across and change upward."""

from __future__ import annotations

from typing import Final

from imgui_bundle import ImVec2, ImVec4, imgui

from lamphouse.graph.cues.easing import EVEN, SOFT
from lamphouse.graph.reel.records import Cue
from lamphouse.nodes.values import Point
from lamphouse.viewer import colours
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.panels.buttons import begin_popup_below
from lamphouse.viewer.panels.draw import box, line
from lamphouse.viewer.panels.grasp import follow_hand, grasped
from lamphouse.viewer.panels.points import Plot, Points, Rule, draw_points, taken

EASE: Final = "ease"
SQUARE: Final = 240.0
QUARTERS: Final = (0.25, 0.5, 0.75)
# A drawn easing begins near the one that it takes the place of: `soft` is 3 t^2 - 2 t^3.
BEGINS: Final = {
    EVEN: ((0.0, 0.0), (0.5, 0.5), (1.0, 1.0)),
    SOFT: ((0.0, 0.0), (0.25, 0.15625), (0.75, 0.84375), (1.0, 1.0)),
}


def easing(desk: Desk, panels: Panels, cue: Cue) -> None:
    """Draw the three choices, and the square over them once `drawn` is chosen."""
    for ease in (EVEN, SOFT):
        imgui.same_line()
        if imgui.radio_button(ease, cue.ease == ease):
            desk.ease(cue.frame, ease)
    imgui.same_line()
    drawn = None if isinstance(cue.ease, str) else cue.ease
    if imgui.radio_button("drawn", drawn is not None):
        if drawn is None:
            drawn = BEGINS[str(cue.ease)]
            desk.ease(cue.frame, drawn)
        imgui.open_popup("easing")
    imgui.set_item_tooltip("Draw how the change goes; again to draw it anew")
    if begin_popup_below("easing"):
        if drawn is not None:
            _square(desk, panels, cue, drawn)
        imgui.end_popup()


def _square(desk: Desk, panels: Panels, cue: Cue, drawn: tuple[Point, ...]) -> None:
    points: Points = [(x, y) for x, y, *_ in drawn]
    at, size = imgui.get_cursor_screen_pos(), SQUARE * panels.scale
    plot = Plot(at.x, at.y, size, size)
    imgui.invisible_button("square", ImVec2(size, size))
    box((at.x, at.y), (at.x + size, at.y + size), colours.SURROUND)
    for share in QUARTERS:
        line(plot.at(share, 0), plot.at(share, 1), colours.FIELD)
        line(plot.at(0, share), plot.at(1, share), colours.FIELD)
    line(plot.at(0, 0), plot.at(1, 1), colours.LINE)
    draw_points(plot, drawn, panels.scale)
    now = taken(panels, plot, points, Rule(0.0, 1.0, rises=True))
    if now is not None and now != points:
        drag = grasped(desk, panels, EASE) if imgui.is_item_active() else None
        desk.ease(cue.frame, tuple(now), drag)
    follow_hand(desk, panels, EASE)
    quiet = ImVec4(*colours.QUIET)
    imgui.text_colored(quiet, f"change upward, {cue.length} frames across")
    imgui.text_colored(quiet, "click adds, right click takes out")
