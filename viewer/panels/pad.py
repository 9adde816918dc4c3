"""A balance pad: a small vectorscope with the six bars at their places and a handle.

Pushing the handle toward a bar moves the picture toward that bar. The letters say where the shadows, the
middle tones and the highlights of this frame lie: once they stand in the middle, the frame is neutral. They
are drawn as much farther out as the picture goes less far than the handle, and so move with it.
"""

from __future__ import annotations

from typing import Any, Final

from imgui_bundle import ImVec2, imgui

from lamphouse.nodes.parameter import Parameter
from lamphouse.viewer import colours
from lamphouse.viewer.models.balance import REACH
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.drags import Drag
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.panels import look
from lamphouse.viewer.panels.draw import box, line, text_at
from lamphouse.viewer.panels.grasp import follow_hand, grasped
from lamphouse.viewer.scopes.vectorscope import bar_targets, point_on_plane

SIZE: Final = 132.0
FINE: Final = 0.2  # of the pointer's way, with Shift held
TONES: Final = (("S", "shadows"), ("M", "middle"), ("H", "highlights"))


def pad(desk: Desk, panels: Panels, seen: Seen, key: str, parameter: Parameter, *, value: Any) -> None:
    """Draw the pad of a balance and take what is done to it."""
    size, at = SIZE * panels.scale, imgui.get_cursor_screen_pos()
    imgui.invisible_button("pad", ImVec2(size, size))
    if imgui.is_item_active() and not imgui.is_item_activated():  # how the hand came there does not count
        _push(desk, grasped(desk, panels, key), size)
    follow_hand(desk, panels, key)
    if imgui.is_item_hovered() and imgui.is_mouse_double_clicked(0):
        desk.reset(key)
    _plane(at, size)
    letters = colours.LINE if seen.is_late else colours.TEXT  # of another picture than the one that is shown
    for letter, name in TONES:
        tone = getattr(seen.scopes.tones, name, None) if seen.scopes.tones else None
        if tone is not None:
            x, y = _on(at, size, tone.cb / REACH, tone.cr / REACH)
            text_at(x - 5 * panels.scale, y - 9 * panels.scale, letter, letters)
    x, y = _on(at, size, *desk.aim(key, panels.drag).point_of(value))
    colour = look.code(colours.ACCENT)
    imgui.get_window_draw_list().add_circle(ImVec2(x, y), 6 * panels.scale, colour, 0, 2 * panels.scale)


def _push(desk: Desk, drag: Drag, size: float) -> None:
    io = imgui.get_io()
    share = (FINE if io.key_shift else 1.0) * 1.2 / size  # the plane is 1.2 wide
    cb, cr = io.mouse_delta.x * share, -io.mouse_delta.y * share
    if cb or cr:
        desk.nudge(drag.what, (cb, cr), drag)


def _plane(at: ImVec2, size: float) -> None:
    box((at.x, at.y), (at.x + size, at.y + size), colours.SURROUND)
    middle = (at.x + size / 2, at.y + size / 2)
    line((at.x, middle[1]), (at.x + size, middle[1]), colours.FIELD)
    line((middle[0], at.y), (middle[0], at.y + size), colours.FIELD)
    for target in bar_targets("bt709"):
        if target.share < 1:
            x, y = _on(at, size, target.cb, target.cr)
            text_at(x - 5, y - 8, target.name[:1].upper(), colours.QUIET)


def _on(at: ImVec2, size: float, cb: float, cr: float) -> tuple[float, float]:
    across, up = point_on_plane(cb, cr)
    across, up = min(max(across, 0.03), 0.97), min(max(up, 0.03), 0.97)
    return at.x + across * size, at.y + (1 - up) * size
