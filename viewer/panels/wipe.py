"""The wipe's edge under a hand: drawn across, turned by the ring on it, put upright by a double click."""

from __future__ import annotations

import math
from typing import Final

from imgui_bundle import ImVec2, imgui

from lamphouse.viewer import colours
from lamphouse.viewer.models.comparison import Comparison
from lamphouse.viewer.models.panels import Area, PictureView
from lamphouse.viewer.panels import look
from lamphouse.viewer.panels.draw import text_at

REACH: Final = 10.0  # pixels from the edge, or from the ring, within which a hand has it
ARM: Final = 72.0  # pixels along the edge from its grip to the ring
RING: Final = 6.0
STEP: Final = math.pi / 4  # the angles that an edge which is turned near them takes
NEAR: Final = math.radians(2)

Point = tuple[float, float]


def is_at_edge(comparison: Comparison, view: PictureView, area: Area, pointer: Point, scale: float) -> bool:
    """Say whether the pointer, in pixels of the picture's part, has the edge or its ring."""
    return (
        _is_at_ring(comparison, view, area, pointer, scale) or _off(comparison, area, pointer) < REACH * scale
    )


def grasp(comparison: Comparison, view: PictureView, area: Area, pointer: Point, scale: float) -> None:
    """Take what the pointer is over: the ring, the edge, or a picture that is larger than its part."""
    if imgui.get_io().key_shift or _is_at_ring(comparison, view, area, pointer, scale):
        view.dragged = "turn"
        grip = _grip(comparison, view, area) or pointer
        comparison.middle = _share(area, grip)
        view.turned_from = comparison.angle - _bearing(grip, pointer)
    elif not view.zoom or is_at_edge(comparison, view, area, pointer, scale):
        view.dragged = "edge"
    else:
        view.dragged = "picture"


def drag(comparison: Comparison, view: PictureView, area: Area, pointer: Point) -> None:
    """Move or turn the edge with the pointer."""
    if view.dragged == "edge":
        x, y = _share(area, pointer)
        comparison.middle = min(max(x, 0.0), 1.0), min(max(y, 0.0), 1.0)
    elif view.dragged == "turn":
        angle = view.turned_from + _bearing(_pixels(area, comparison.middle), pointer)
        nearest = STEP * round(angle / STEP)
        angle = nearest if abs(angle - nearest) < NEAR else angle
        comparison.angle = math.remainder(angle, math.tau)


def draw_handles(comparison: Comparison, view: PictureView, area: Area, at: ImVec2, scale: float) -> None:
    """Draw the grip of the edge and the ring that turns it, and the angle while it is turned."""
    grip, ring = _grip(comparison, view, area), _ring(comparison, view, area, scale)
    if grip is None or ring is None:
        return
    draw = imgui.get_window_draw_list()
    mouse = imgui.get_mouse_pos()
    is_over = view.dragged == "turn" or math.dist(ring, (mouse.x - at.x, mouse.y - at.y)) < REACH * scale
    for (x, y), size in ((grip, RING * 0.6), (ring, RING)):
        middle = ImVec2(at.x + x, at.y + y)
        colour = colours.ACCENT if is_over and size == RING else colours.BRIGHT
        draw.add_circle_filled(middle, size * scale, look.code(colours.SURROUND))
        draw.add_circle(middle, size * scale, look.code(colour), 0, 1.5 * scale)
    if view.dragged == "turn":
        beside = at.x + ring[0] + 14 * scale, at.y + ring[1] - 10 * scale
        text_at(*beside, f"{math.degrees(comparison.angle):.0f}°", colours.BRIGHT)


def _off(comparison: Comparison, area: Area, pointer: Point) -> float:
    shape = area.width / area.height
    return abs(comparison.beyond(_share(area, pointer), shape)) * area.height


def _is_at_ring(comparison: Comparison, view: PictureView, area: Area, pointer: Point, scale: float) -> bool:
    ring = _ring(comparison, view, area, scale)
    return ring is not None and math.dist(ring, pointer) < REACH * scale


def _grip(comparison: Comparison, view: PictureView, area: Area) -> Point | None:
    """Return the point of the edge, among those in sight, that is nearest to its middle."""
    span = _in_sight(comparison, view, area)
    return None if span is None else _along(comparison, area, min(max(0.0, span[0]), span[1]))


def _ring(comparison: Comparison, view: PictureView, area: Area, scale: float) -> Point | None:
    span = _in_sight(comparison, view, area)
    if span is None:
        return None
    grip = min(max(0.0, span[0]), span[1])
    arm = ARM * scale
    return _along(comparison, area, grip + arm if grip + arm <= span[1] else grip - arm)


def _along(comparison: Comparison, area: Area, way: float) -> Point:
    x, y = _pixels(area, comparison.middle)
    return x - math.sin(comparison.angle) * way, y + math.cos(comparison.angle) * way


def _in_sight(comparison: Comparison, view: PictureView, area: Area) -> tuple[float, float] | None:
    """Return from where to where the edge can be seen, in pixels along it from its middle."""
    low, high = -math.inf, math.inf
    begin, way = _pixels(area, comparison.middle), (-math.sin(comparison.angle), math.cos(comparison.angle))
    first = max(area.left, 0.0), max(area.top, 0.0)
    last = min(area.left + area.width, view.size[0]), min(area.top + area.height, view.size[1])
    for point, step, least, most in zip(begin, way, first, last, strict=True):
        if abs(step) < 1e-9:
            if not least <= point <= most:
                return None
            continue
        one, two = (least - point) / step, (most - point) / step
        low, high = max(low, min(one, two)), min(high, max(one, two))
    return (low, high) if low < high else None


def _bearing(middle: Point, pointer: Point) -> float:
    return math.atan2(pointer[1] - middle[1], pointer[0] - middle[0])


def _share(area: Area, point: Point) -> Point:
    return (point[0] - area.left) / area.width, (point[1] - area.top) / area.height


def _pixels(area: Area, share: Point) -> Point:
    return area.left + share[0] * area.width, area.top + share[1] * area.height
