"""The handles of the matte whose node is open, on the picture: taken hold of, dragged and drawn."""

from __future__ import annotations

import math
from typing import Final

from imgui_bundle import ImVec2, imgui

from lamphouse.viewer import colours
from lamphouse.viewer.models.area import room_of
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.frame import Point, lie_here
from lamphouse.viewer.models.mattes import SHAPES, Handle, matte_node, moved, seen_at, spot_at, values_of
from lamphouse.viewer.models.panels import Area, Panels, PictureView
from lamphouse.viewer.panels import look
from lamphouse.viewer.panels.draw import path, text_at
from lamphouse.viewer.panels.grasp import grasped

REACH: Final = 10.0  # pixels from a handle within which a hand has it
SIZE: Final = 5.0
MARGIN: Final = 14.0  # from the border of the picture to a handle that waits there


def grasp_matte(desk: Desk, panels: Panels, area: Area, pointer: Point) -> bool:
    """Take hold of the handle under the pointer, in pixels of its part; say whether there is one."""
    held = panels.mattes
    near = [
        (math.dist(at, pointer), handle, at)
        for handle, at in _handles(desk, panels, area)
        if math.dist(at, pointer) < REACH * panels.scale
    ]
    ref = matte_node(desk, panels.node)
    if not near or ref is None:
        return False
    _, handle, at = min(near, key=lambda found: found[0])
    held.handle, held.begun = handle.name, values_of(desk, ref)
    held.offset = at[0] - pointer[0], at[1] - pointer[1]
    panels.drag = None
    return True


def drag_matte(desk: Desk, panels: Panels, area: Area, pointer: Point) -> None:
    """Move the handle that is held with the pointer, as one step to undo."""
    held, ref, moves = panels.mattes, matte_node(desk, panels.node), imgui.get_io().mouse_delta
    if ref is None or not (moves.x or moves.y):
        return
    at = pointer[0] + held.offset[0], pointer[1] + held.offset[1]
    share = (at[0] - area.left) / area.width, (at[1] - area.top) / area.height
    spot = spot_at(desk.reel.scan, lie_here(desk, panels.picture).under(share))
    drag = grasped(desk, panels, f"{ref.name}, {held.handle}")
    desk.set(moved(desk, ref, held.begun, held.handle, spot), drag)


def draw_matte(desk: Desk, panels: Panels, area: Area, at: Point) -> None:
    """Draw the lines and handles of the open matte over a picture whose part of the window begins at `at`."""
    ref, view, scale = matte_node(desk, panels.node), panels.picture, panels.scale
    if ref is None or ref.kind not in SHAPES:
        return
    draw = imgui.get_window_draw_list()
    draw.push_clip_rect(ImVec2(*at), ImVec2(at[0] + room_of(desk, view), at[1] + view.size[1]), True)
    for outline in SHAPES[ref.kind].outlines(values_of(desk, ref)):
        points = [_window(desk, view, area, spot) for spot in outline.points]
        placed = [(at[0] + x, at[1] + y) for x, y in (*points, points[0])]
        path(placed, colours.BRIGHT if outline.share else colours.TEXT, 1.5 * scale, 3.5 * scale)
    mouse = imgui.get_mouse_pos()
    for handle, (x, y) in _handles(desk, panels, area):
        place = at[0] + x, at[1] + y
        is_over = math.dist(place, (mouse.x, mouse.y)) < REACH * scale
        _draw_handle(handle, place, panels, is_lit=is_over or handle.name == panels.mattes.handle)
    draw.pop_clip_rect()


def _draw_handle(handle: Handle, place: Point, panels: Panels, *, is_lit: bool) -> None:
    """Draw a handle: a square, or a ring where it turns; the one that was held last is lit and named."""
    draw, scale = imgui.get_window_draw_list(), panels.scale
    size, ground = SIZE * scale, look.code(colours.SURROUND)
    colour = look.code(colours.ACCENT if is_lit else colours.BRIGHT)
    if handle.is_ring:
        draw.add_circle_filled(ImVec2(*place), size, ground)
        draw.add_circle(ImVec2(*place), size, colour, 0, 1.5 * scale)
    else:
        low, high = ImVec2(place[0] - size, place[1] - size), ImVec2(place[0] + size, place[1] + size)
        draw.add_rect_filled(low, high, ground)
        draw.add_rect(low, high, colour, 0.0, 1.5 * scale)
    if is_lit and panels.picture.dragged == "matte":
        text_at(place[0] + 12 * scale, place[1] - 8 * scale, handle.name, colours.BRIGHT)


def _handles(desk: Desk, panels: Panels, area: Area) -> list[tuple[Handle, Point]]:
    """Return the handles that can be taken, and where they are in the picture's part."""
    ref, view = matte_node(desk, panels.node), panels.picture
    if ref is None or ref.kind not in SHAPES:
        return []
    gap = MARGIN * panels.scale
    left, top = max(area.left, 0.0) + gap, max(area.top, 0.0) + gap
    right = min(area.left + area.width, room_of(desk, view)) - gap
    bottom = min(area.top + area.height, view.size[1]) - gap
    found = []
    for handle in SHAPES[ref.kind].handles(values_of(desk, ref)):
        x, y = _window(desk, view, area, handle.at)
        held = min(max(x, left), right), min(max(y, top), bottom)
        if handle.is_sought or math.dist(held, (x, y)) < gap:
            found.append((handle, held if handle.is_sought else (x, y)))
    return found


def _window(desk: Desk, view: PictureView, area: Area, spot: Point) -> Point:
    """Return where in the picture's part a place of the film lies."""
    x, y = lie_here(desk, view).shown(seen_at(desk.reel.scan, spot))
    return area.left + x * area.width, area.top + y * area.height
