"""Points of a drawn curve under the hand: dragged, added by a click, taken out by a right click."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from imgui_bundle import ImVec2, imgui

from lamphouse.nodes.monotone import through
from lamphouse.nodes.values import POINT_GAP, Point
from lamphouse.viewer import colours
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.panels import look
from lamphouse.viewer.panels.draw import path

NEAR: Final = 9.0  # pixels within which a point is meant
STEPS: Final = 64
GAP: Final = 10 * POINT_GAP

Points = list[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Plot:
    """Where 0 to 1 across and 0 to 1 up lie in the window, in pixels from its top left."""

    left: float
    top: float
    width: float
    height: float

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Return the pixel of a place; heights beyond the plot are on its edge."""
        return self.left + x * self.width, self.top + (1 - min(max(y, 0), 1)) * self.height

    def under(self, mouse: ImVec2) -> tuple[float, float]:
        """Return the place at a pixel."""
        return (mouse.x - self.left) / self.width, 1 - (mouse.y - self.top) / self.height


@dataclass(frozen=True, slots=True)
class Rule:
    """What a curve's points may be: how low and high, and whether it must rise between ends that stay."""

    low: float
    high: float
    rises: bool = False


def draw_points(plot: Plot, points: tuple[Point, ...], scale: float) -> None:
    """Draw the smooth curve through points, and the points."""
    shape = through(points)
    across = np.linspace(0, 1, STEPS)
    path((plot.at(x, y) for x, y in zip(across, shape(across), strict=True)), colours.ACCENT, 2 * scale)
    for point in points:
        centre = ImVec2(*plot.at(point[0], point[1]))
        imgui.get_window_draw_list().add_circle_filled(centre, 4 * scale, look.code(colours.BRIGHT))


def taken(panels: Panels, plot: Plot, points: Points, rule: Rule) -> Points | None:
    """Return the points after what a hand does to the item just drawn, or None where it does nothing."""
    x, y = plot.under(imgui.get_mouse_pos())
    near = _near(points, x, NEAR * panels.scale / plot.width)
    if imgui.is_item_deactivated():
        panels.point = None
    if imgui.is_item_hovered() and imgui.is_mouse_clicked(1) and near is not None:
        return _without(points, near, rule)
    if imgui.is_item_activated():
        panels.point = near
        if near is None and 0 < x < 1:
            panels.point = sum(point[0] < x for point in points)
            points = [*points[: panels.point], (x, y), *points[panels.point :]]
    if imgui.is_item_active() and panels.point is not None and panels.point < len(points):
        return moved(points, panels.point, (x, y), rule)
    return None


def moved(points: Points, index: int, to: tuple[float, float], rule: Rule) -> Points:
    """Return points with one of them elsewhere, between its neighbours; the ends keep their abscissae."""
    is_end = index in (0, len(points) - 1)
    if is_end and rule.rises:
        return points
    x, y = to
    low, high = rule.low, rule.high
    if not is_end:
        before, after = points[index - 1], points[index + 1]
        x = min(max(x, before[0] + GAP), after[0] - GAP)
        if rule.rises:
            low, high = before[1], after[1]
    else:
        x = points[index][0]
    return [*points[:index], (x, min(max(y, low), high)), *points[index + 1 :]]


def _near(points: Points, x: float, reach: float) -> int | None:
    distances = [abs(point[0] - x) for point in points]
    nearest = min(range(len(points)), key=distances.__getitem__)
    return nearest if distances[nearest] < reach else None


def _without(points: Points, index: int, rule: Rule) -> Points | None:
    if len(points) == 2 or (rule.rises and index in (0, len(points) - 1)):
        return None
    return [*points[:index], *points[index + 1 :]]
