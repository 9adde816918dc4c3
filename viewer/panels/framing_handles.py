"""The handles of framing on the picture, while its controls are open: a corner sizes, a ring turns.

Both work about the middle of the frame, as the controls do; the film itself is moved by Alt and a drag.
"""

from __future__ import annotations

import math
from typing import Final

from imgui_bundle import ImVec2, imgui

from lamphouse.nodes.framing import FRAMING, PARAMETERS
from lamphouse.viewer import colours
from lamphouse.viewer.models.area import room_of
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.frame import Point, corners_of, lie_here
from lamphouse.viewer.models.panels import Area, Panels
from lamphouse.viewer.panels import look
from lamphouse.viewer.panels.grasp import grasped

REACH: Final = 10.0  # pixels from a handle within which a hand has it
SIZE: Final = 5.0
MARGIN: Final = 16.0  # from the border of the frame to a handle that would lie beyond it
RANGES: Final = {parameter.name: parameter for parameter in PARAMETERS}


def grasp_framing(desk: Desk, panels: Panels, area: Area, pointer: Point) -> bool:
    """Take hold of the handle under the pointer, in pixels of its part; say whether there is one."""
    near = [
        (math.dist(at, pointer), name)
        for name, at in _handles(desk, panels, area).items()
        if math.dist(at, pointer) < REACH * panels.scale
    ]
    if not near:
        return False
    held = panels.framing
    held.handle = min(near)[1]
    held.begun_at, value = pointer, desk.own(f"{FRAMING}.{held.handle}")
    held.begun = float(value)  # type: ignore[arg-type]
    panels.drag = None
    return True


def drag_framing(desk: Desk, panels: Panels, area: Area, pointer: Point) -> None:
    """Size or turn the film with the pointer, as one step to undo."""
    held, moves = panels.framing, imgui.get_io().mouse_delta
    if not (moves.x or moves.y):
        return
    middle = area.left + area.width / 2, area.top + area.height / 2
    if held.handle == "size":
        value = held.begun * math.dist(pointer, middle) / max(math.dist(held.begun_at, middle), 1.0)
    else:
        by = _bearing(middle, pointer) - _bearing(middle, held.begun_at)
        value = held.begun + math.degrees(math.remainder(by, math.tau))
    key = f"{FRAMING}.{held.handle}"
    desk.set({key: RANGES[held.handle].within(value)}, grasped(desk, panels, key))


def draw_framing(desk: Desk, panels: Panels, area: Area, at: Point) -> None:
    """Draw the handles over a picture whose part of the window begins at `at`."""
    draw, scale, mouse = imgui.get_window_draw_list(), panels.scale, imgui.get_mouse_pos()
    ground = look.code(colours.SURROUND)
    for name, (x, y) in _handles(desk, panels, area).items():
        place, size = (at[0] + x, at[1] + y), SIZE * scale
        is_lit = math.dist(place, (mouse.x, mouse.y)) < REACH * scale or panels.picture.dragged == "framing"
        colour = look.code(colours.ACCENT if is_lit else colours.BRIGHT)
        if name == "turn":
            draw.add_circle_filled(ImVec2(*place), size, ground)
            draw.add_circle(ImVec2(*place), size, colour, 0, 1.5 * scale)
        else:
            low, high = ImVec2(place[0] - size, place[1] - size), ImVec2(place[0] + size, place[1] + size)
            draw.add_rect_filled(low, high, ground)
            draw.add_rect(low, high, colour, 0.0, 1.5 * scale)


def _handles(desk: Desk, panels: Panels, area: Area) -> dict[str, Point]:
    """Return where the handles are in the picture's part: a corner of the film, and the middle of its top."""
    view = panels.picture
    if panels.node != FRAMING or view.is_true:
        return {}
    lie, gap = lie_here(desk, view), MARGIN * panels.scale
    # Whatever is mirrored or turned by quarters: the lowest corner to the right, and above the middle.
    corner = max((lie.shown(place) for place in corners_of((0.0, 0.0, 1.0, 1.0))), key=sum)
    sides = (lie.shown(place) for place in ((0.5, 0.0), (0.5, 1.0), (0.0, 0.5), (1.0, 0.5)))
    top = min(sides, key=lambda place: place[1])
    low = max(area.left, 0.0) + gap, max(area.top, 0.0) + gap
    high = (
        min(area.left + area.width, room_of(desk, view)) - gap,
        min(area.top + area.height, view.size[1]) - gap,
    )
    placed = {}
    for name, (x, y) in (("size", corner), ("turn", top)):
        across, down = area.left + x * area.width, area.top + y * area.height
        placed[name] = min(max(across, low[0]), high[0]), min(max(down, low[1]), high[1])
    return placed


def _bearing(middle: Point, pointer: Point) -> float:
    return math.atan2(pointer[1] - middle[1], pointer[0] - middle[0])
