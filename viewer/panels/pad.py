"""A balance pad: a small vectorscope with the six bars at their places and a handle.

Pushing the handle toward a bar moves the picture toward that bar. Three marks say where the shadows, the
middle tones and the highlights of this frame lie, a dot in a ring in a wider ring: once they stand in the
middle, within each other, the frame is neutral. They are drawn as much farther out as the picture goes less
far than the handle, and so move with it.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import hypot
from typing import Any, Final

from imgui_bundle import ImVec2, imgui

from lamphouse.graph.scopes.vectorscope import EXTENT, bar_targets
from lamphouse.nodes.parameter import Parameter
from lamphouse.nodes.tonal_range import TonalRange
from lamphouse.viewer import colours
from lamphouse.viewer.colours import Colour
from lamphouse.viewer.models.balance import REACH
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.grips import HAND, PLANE
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.panels import look
from lamphouse.viewer.panels.draw import box, line, text_at
from lamphouse.viewer.panels.grasp import follow_hand, grasped, stepped
from lamphouse.viewer.panels.number import arrows, is_cleared, pace

SIZE: Final = 132.0
RIM: Final = 0.4  # of the size, from the middle: what lies farther out is drawn there
CLEAR_OF: Final = 8.0  # pixels about a mark or the handle in which no letter is written
# Nested, so that none hides another where they meet: the handle about all of them.
RADII: Final = {TonalRange.SHADOWS: 2.5, TonalRange.MIDDLE: 5.0, TonalRange.HIGHLIGHTS: 8.0}
HANDLE: Final = 12.0
STEP: Final = 0.005  # of the plane, for an arrow
TIP: Final = "Push toward a bar, finely with Shift, coarsely with Control; a double click makes it neutral"

Point = tuple[float, float]


def pad(
    desk: Desk,
    panels: Panels,
    seen: Seen,
    key: str,
    parameter: Parameter,
    *,
    value: Any,
    size: float,
) -> None:
    """Draw the pad of a balance, so many pixels wide and high, and take what is done to it."""
    scale, at = panels.scale, imgui.get_cursor_screen_pos()
    imgui.invisible_button(f"pad {key}", ImVec2(size, size), imgui.ButtonFlags_.enable_nav)
    if imgui.is_item_active() and imgui.is_mouse_down(0) and not imgui.is_item_activated():
        _push(desk, panels, key)  # how the hand came there does not count
    follow_hand(desk, panels, key)
    if any(across_up := arrows()):
        cb, cr = (STEP * steps for steps in across_up)
        desk.nudge(key, (cb, cr), stepped(desk, panels, key))
    if is_cleared() or (imgui.is_item_hovered() and imgui.is_mouse_double_clicked(0)):
        desk.reset(key)
    imgui.set_item_tooltip(TIP)
    middle = (at.x + size / 2, at.y + size / 2)
    _ground(at, size)
    handle = _on(middle, size, *desk.aim(key, panels.drag).point_of(value))
    marks = {tones: _on(middle, size, cb, cr) for tones, cb, cr in _tones(seen)}
    _bars(middle, size, scale, [(handle, HANDLE), *((place, RADII[tones]) for tones, place in marks.items())])
    for tones, place in marks.items():
        colour = colours.TEXT if parameter.acts_on in (tones, None) else colours.EDGE
        tone_mark(place, tones, scale, colours.EDGE if seen.is_late else colour)
    _handle(handle, scale)


def _push(desk: Desk, panels: Panels, key: str) -> None:
    io, drag = imgui.get_io(), grasped(desk, panels, key)
    share = pace() * PLANE / (HAND * panels.scale)
    cb, cr = io.mouse_delta.x * share, -io.mouse_delta.y * share
    if cb or cr:
        desk.nudge(drag.what, (cb, cr), drag)


def tone_mark(place: Point, tones: TonalRange, scale: float, colour: Colour) -> None:
    """Draw the mark of some tones about a point: a dot, a ring, a wider ring."""
    draw, centre, radius = imgui.get_window_draw_list(), ImVec2(*place), RADII[tones] * scale
    if tones is TonalRange.SHADOWS:
        draw.add_circle_filled(centre, radius, look.code(colour))
    else:
        draw.add_circle(centre, radius, look.code(colour), 0, 1.5 * scale)


def _tones(seen: Seen) -> Iterator[tuple[TonalRange, float, float]]:
    found = seen.scopes.tones
    if found is None:
        return
    for tones, tone in zip(TonalRange, (found.shadows, found.middle, found.highlights), strict=True):
        if tone is not None:
            yield tones, tone.cb / REACH, tone.cr / REACH


def _ground(at: ImVec2, size: float) -> None:
    box((at.x, at.y), (at.x + size, at.y + size), colours.SURROUND)
    line((at.x, at.y + size / 2), (at.x + size, at.y + size / 2), colours.FIELD)
    line((at.x + size / 2, at.y), (at.x + size / 2, at.y + size), colours.FIELD)
    draw = imgui.get_window_draw_list()
    draw.add_rect(at, ImVec2(at.x + size, at.y + size), look.code(colours.EDGE))


def _bars(middle: Point, size: float, scale: float, taken: list[tuple[Point, float]]) -> None:
    """Write the letters of the bars at their places, but for those at which something stands."""
    for target in bar_targets("bt709"):
        if target.share < 1:
            x, y = _on(middle, size, target.cb, target.cr)
            far = (hypot(x - at[0], y - at[1]) / scale - radius for at, radius in taken)
            if min(far) > CLEAR_OF:
                letter = target.name[:1].upper()
                wide, tall = imgui.calc_text_size(letter)
                text_at(x - wide / 2, y - tall / 2, letter)


def _handle(place: Point, scale: float) -> None:
    draw, colour = imgui.get_window_draw_list(), look.code(colours.ACCENT)
    draw.add_circle(ImVec2(*place), HANDLE * scale, colour, 0, 2 * scale)


def _on(middle: Point, size: float, cb: float, cr: float) -> Point:
    """Return where a colour stands; beyond the rim, on it."""
    x, y = cb / (2 * EXTENT) * size, cr / (2 * EXTENT) * size
    held = min(1.0, RIM * size / max(hypot(x, y), 1e-9))
    return middle[0] + held * x, middle[1] - held * y
