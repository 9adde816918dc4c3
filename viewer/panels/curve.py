"""A curve drawn over the live histogram: points are dragged, added by a click, taken out by a right click."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from imgui_bundle import ImVec2, imgui

from lamphouse.graph.scopes.levels import HIGHEST, LOWEST
from lamphouse.nodes.parameter import Parameter
from lamphouse.viewer import colours
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.panels.draw import bars, box
from lamphouse.viewer.panels.grasp import follow_hand, grasped
from lamphouse.viewer.panels.points import Plot, Rule, draw_points, taken

HEIGHT: Final = 170.0


def curve(desk: Desk, panels: Panels, seen: Seen, key: str, parameter: Parameter, *, value: Any) -> None:
    """Draw a curve and take what is done to its points."""
    width, height = imgui.get_content_region_avail().x, HEIGHT * panels.scale
    at = imgui.get_cursor_screen_pos()
    imgui.invisible_button("curve", ImVec2(width, height))
    box((at.x, at.y), (at.x + width, at.y + height), colours.SURROUND)
    _histogram(panels, seen, at, width, height)
    plot = Plot(at.x, at.y, width, height)
    draw_points(plot, value, panels.scale)
    now = taken(panels, plot, [point[:2] for point in value], Rule(parameter.low, parameter.high))
    if now is not None:
        desk.set({key: now}, grasped(desk, panels, key) if imgui.is_item_active() else None)
    follow_hand(desk, panels, key)


def _histogram(panels: Panels, seen: Seen, at: ImVec2, width: float, height: float) -> None:
    counts = seen.scopes.histogram
    if counts is None:
        return
    levels = counts.shape[1]
    signal = LOWEST + (np.arange(levels) + 0.5) / levels * (HIGHEST - LOWEST)
    inside = (signal >= 0) & (signal <= 1)
    top = np.sqrt(max(int(counts[:, inside][:, 1:-1].max(initial=1)), 1))
    for channel, colour in enumerate(colours.CHANNELS):
        tall = np.minimum(np.sqrt(counts[channel, inside]) / top, 1.0)
        bars(tall, (at.x, at.y + height), (width, 0.7 * height), (*colour[:3], 0.25))
