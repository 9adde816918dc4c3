"""What is drawn over the picture to frame by: safe areas of the frame, and the edges of the film's gate."""

from __future__ import annotations

from collections.abc import Sequence
from collections.abc import Set as AbstractSet
from typing import Final

from imgui_bundle import ImVec2, imgui

from lamphouse.viewer import colours
from lamphouse.viewer.models.area import room_of
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.frame import corners_of, gate_of, lie_here, safe_areas
from lamphouse.viewer.models.guides import lines_of
from lamphouse.viewer.models.panels import Area, PictureView
from lamphouse.viewer.models.screens import Guide
from lamphouse.viewer.panels.draw import line, outline, text_at

LINE: Final = 1.0
Point = tuple[float, float]
SHADE: Final = 2.5  # a dark line below a light one is seen on any picture


def overlays(
    desk: Desk, view: PictureView, guides: AbstractSet[Guide], area: Area, at: ImVec2, *, scale: float
) -> None:
    """Draw those of a screen over a frame whose part of the window begins at `at`."""
    draw = imgui.get_window_draw_list()
    draw.push_clip_rect(at, ImVec2(at.x + room_of(desk, view), at.y + view.size[1]), True)
    if "safe" in guides:
        for row, (name, box) in enumerate(safe_areas(desk.reel, view.delivery)):
            points = _outlined(corners_of(box), area, at, scale)
            _named(name, points[0], -1 if row == 0 else 0, scale)
    if "gate" in guides:
        lie = lie_here(desk, view)
        edges, name = gate_of(desk.reel)
        points = _outlined([lie.shown(corner) for corner in corners_of(edges)], area, at, scale)
        _named(name, min(points, key=lambda point: (-round(point[1]), point[0])), -1, scale)
    for a, b in lines_of(guides, area.width / area.height):
        _line(a, b, area, at, scale)
    draw.pop_clip_rect()


def _line(a: Point, b: Point, area: Area, at: ImVec2, scale: float) -> None:
    """Draw a line between two places of the frame, light on dark."""
    first, last = ((at.x + area.left + x * area.width, at.y + area.top + y * area.height) for x, y in (a, b))
    line(first, last, colours.SURROUND, SHADE * scale)
    line(first, last, colours.BRIGHT, LINE * scale)


def _outlined(corners: Sequence[Point], area: Area, at: ImVec2, scale: float) -> list[Point]:
    """Draw a polygon given in shares of the frame; return its corners in the window."""
    points = [(at.x + area.left + x * area.width, at.y + area.top + y * area.height) for x, y in corners]
    outline(points, colours.SURROUND, SHADE * scale)
    outline(points, colours.BRIGHT, LINE * scale)
    return points


def _named(name: str, corner: Point, lines: int, scale: float) -> None:
    """Write a name at a corner, so many lines below it, on a shade that it can be read on."""
    x, y = corner[0] + 5 * scale, corner[1] + 2 * scale + lines * imgui.get_text_line_height_with_spacing()
    text_at(x + scale, y + scale, name, colours.SURROUND)
    text_at(x, y, name, colours.BRIGHT)
