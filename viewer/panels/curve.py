"""A curve drawn over the live histogram: points are dragged, added by a click, taken out by a right click."""

from __future__ import annotations

from itertools import pairwise
from typing import Any, Final

import numpy as np
from imgui_bundle import ImVec2, imgui

from lamphouse.nodes.declare import Parameter
from lamphouse.nodes.monotone import through
from lamphouse.nodes.values import POINT_GAP
from lamphouse.viewer import look
from lamphouse.viewer.desk import Desk
from lamphouse.viewer.panels.draw import box, line
from lamphouse.viewer.scopes.levels import HIGHEST, LOWEST
from lamphouse.viewer.screen import Screen

HEIGHT: Final = 170.0
NEAR: Final = 9.0  # pixels within which a point is meant
STEPS: Final = 64


def curve(desk: Desk, screen: Screen, key: str, parameter: Parameter, value: Any) -> None:
    """Draw a curve and take what is done to its points."""
    width, height = imgui.get_content_region_avail().x, HEIGHT * screen.scale
    at = imgui.get_cursor_screen_pos()
    imgui.invisible_button("curve", ImVec2(width, height))
    box((at.x, at.y), (at.x + width, at.y + height), look.SURROUND)
    _histogram(screen, at, width, height)
    shape = through(value)
    x = np.linspace(0, 1, STEPS)
    y = np.clip(shape(x), 0, 1)
    places = [(at.x + a * width, at.y + (1 - b) * height) for a, b in zip(x, y, strict=True)]
    for first, second in pairwise(places):
        line(first, second, look.ACCENT, 2 * screen.scale)
    for px, py, *_ in value:
        centre = ImVec2(at.x + px * width, at.y + (1 - min(max(py, 0), 1)) * height)
        imgui.get_window_draw_list().add_circle_filled(centre, 4 * screen.scale, look.code(look.BRIGHT))
    _taken(desk, screen, key, parameter, (at, width, height))


def _histogram(screen: Screen, at: ImVec2, width: float, height: float) -> None:
    counts = screen.scopes.histogram
    if counts is None:
        return
    levels = counts.shape[1]
    signal = LOWEST + (np.arange(levels) + 0.5) / levels * (HIGHEST - LOWEST)
    inside = (signal >= 0) & (signal <= 1)
    top = np.sqrt(max(int(counts[:, inside][:, 1:-1].max(initial=1)), 1))
    for channel, colour in enumerate(look.CHANNELS):
        tall = np.minimum(np.sqrt(counts[channel, inside]) / top, 1.0)
        for s, t in zip(signal[inside], tall, strict=True):
            x = at.x + float(s) * width
            line((x, at.y + height), (x, at.y + height * (1 - 0.7 * float(t))), (*colour[:3], 0.25))


def _taken(
    desk: Desk, screen: Screen, key: str, parameter: Parameter, where: tuple[ImVec2, float, float]
) -> None:
    at, width, height = where
    points = [tuple(point[:2]) for point in desk.own(key)]  # type: ignore[union-attr, index]
    mouse = imgui.get_mouse_pos()
    x, y = (mouse.x - at.x) / width, 1 - (mouse.y - at.y) / height
    near = [i for i, p in enumerate(points) if abs(p[0] - x) * width < NEAR * screen.scale]
    if imgui.is_item_hovered() and imgui.is_mouse_clicked(1) and near and len(points) > 2:
        desk.set({key: [p for i, p in enumerate(points) if i != near[0]]})
    elif imgui.is_item_activated() and not near and 0 < x < 1:
        points.append((x, y))
        desk.set({key: sorted(points)}, drag=key)
    elif imgui.is_item_active() and near:
        _moved(desk, key, parameter, points, (near[0], x, y))
    if imgui.is_item_deactivated():
        desk.history.end_drag()


def _moved(
    desk: Desk, key: str, parameter: Parameter, points: list[Any], to: tuple[int, float, float]
) -> None:
    index, x, y = to
    low = points[index - 1][0] + 10 * POINT_GAP if index else 0.0
    high = points[index + 1][0] - 10 * POINT_GAP if index + 1 < len(points) else 1.0
    is_end = index in (0, len(points) - 1)
    x = points[index][0] if is_end else min(max(x, low), high)
    points[index] = (x, parameter.within(y))
    desk.set({key: points}, drag=key)
