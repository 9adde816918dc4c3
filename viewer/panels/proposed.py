"""On the picture: what is previewed of the survey by its name, and the places that it and marks are about."""

from __future__ import annotations

from typing import Final

from imgui_bundle import ImVec2, imgui

from lamphouse.graph.survey.words import what_text
from lamphouse.viewer import colours
from lamphouse.viewer.models.area import room_of
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.frame import Point, corners_of, lie_here
from lamphouse.viewer.models.panels import Area, Panels
from lamphouse.viewer.models.proposals import previewed, sure_text
from lamphouse.viewer.panels.draw import box, outline, text_at

LINES: Final = 2.5  # lines of text from the head of the picture, which others have


def proposed(desk: Desk, panels: Panels, area: Area, at: Point) -> None:
    """Draw it over a picture that begins at `at`."""
    one = previewed(panels.proposals, desk.reel)
    if one is None:
        return
    if one.place is not None and one.frame <= desk.frame < one.frame + one.frames:
        _place(desk, panels, one.place, area, at)
    done = "previewed, not taken" if desk.shown_settings != desk.settings else "not taken"
    text = f"{what_text(one)} ({sure_text(one)}): {done}"
    wide, tall = imgui.calc_text_size(text)
    x, y = at[0] + panels.picture.size[0] - wide - 12 * panels.scale, at[1] + LINES * tall
    box((x - 6, y - 3), (x + wide + 6, y + tall + 3), colours.SURROUND, 0.8)
    text_at(x, y, text, colours.TEXT)


def marked(desk: Desk, panels: Panels, area: Area, at: Point) -> None:
    """Outline the places of the marks that begin at the frame on which the film stands."""
    if desk.transport.speed:
        return
    for mark in desk.reel.marks:
        if mark.place is not None and mark.frame == desk.frame:
            _place(desk, panels, mark.place, area, at)


def _place(
    desk: Desk, panels: Panels, place: tuple[float, float, float, float], area: Area, at: Point
) -> None:
    """Draw the outline of a place of the scan, light on dark, where that lies in the frame."""
    left, top, wide, high = place
    lie = lie_here(desk, panels.picture)
    shown = (lie.shown(corner) for corner in corners_of((left, top, left + wide, top + high)))
    points = [(at[0] + area.left + x * area.width, at[1] + area.top + y * area.height) for x, y in shown]
    draw = imgui.get_window_draw_list()
    right = at[0] + room_of(desk, panels.picture), at[1] + panels.picture.size[1]
    draw.push_clip_rect(ImVec2(*at), ImVec2(*right), True)
    outline(points, colours.SURROUND, 3.5 * panels.scale)
    outline(points, colours.BRIGHT, 1.5 * panels.scale)
    draw.pop_clip_rect()
