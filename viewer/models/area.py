"""Where the frame lies in its part of the window, in its own shape."""

from __future__ import annotations

from lamphouse.viewer.models.comparison import SIDE
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.frame import Point, lie_here, shape_of
from lamphouse.viewer.models.panels import Area, PictureView


def fitting(desk: Desk, view: PictureView) -> float:
    """Return the zoom, pixels of the window for a line of the scan, at which the whole picture fits in."""
    return min(room_of(desk, view) / wide_of(desk, view), view.size[1] / desk.reel.scan.height)


def room_of(desk: Desk, view: PictureView) -> int:
    """Return the width that a picture has: half of all where two are side by side."""
    return view.size[0] // 2 if desk.comparison.way == SIDE else view.size[0]


def wide_of(desk: Desk, view: PictureView) -> float:
    """Return the width of the frame, as high as the scan, for lines as high as they are wide."""
    return desk.reel.scan.height * shape_of(desk.reel, view.delivery)


def area_of(desk: Desk, view: PictureView) -> Area:
    """Return where the frame lies in its part of the window, in its own shape.

    At 1:1 that is the scan's raster, on whole pixels of the framebuffer, each as high as it is wide.
    """
    if view.is_true:
        scan = desk.reel.scan
        left, top, width, height = _placed(desk, view, scan.width / view.density, scan.height / view.density)
        dense = view.density
        return Area(round(left * dense) / dense, round(top * dense) / dense, width, height)
    zoom = view.zoom or fitting(desk, view)
    return Area(*_placed(desk, view, wide_of(desk, view) * zoom, desk.reel.scan.height * zoom))


def turn_true(desk: Desk, view: PictureView) -> None:
    """Show a pixel of the scan for each of the monitor, or go back; what the pointer is over stays there."""
    pointer = view.pointer or (room_of(desk, view) / 2, view.size[1] / 2)
    place = lie_here(desk, view).under(_share(area_of(desk, view), pointer))
    view.is_true = not view.is_true
    view.pan = (0.0, 0.0)
    if view.is_true or view.zoom:
        hold(desk, view, place, pointer)


def hold(desk: Desk, view: PictureView, place: Point, pointer: Point) -> None:
    """Move the frame so that a place of the scan, in shares of it, is seen at a point of its part."""
    (x, y), area = lie_here(desk, view).shown(place), area_of(desk, view)
    across, down = pointer[0] - area.left - x * area.width, pointer[1] - area.top - y * area.height
    view.pan = (view.pan[0] + across, view.pan[1] + down)


def _placed(desk: Desk, view: PictureView, width: float, height: float) -> tuple[float, float, float, float]:
    left = (room_of(desk, view) - width) / 2 + view.pan[0]
    return left, (view.size[1] - height) / 2 + view.pan[1], width, height


def _share(area: Area, point: Point) -> Point:
    return (point[0] - area.left) / area.width, (point[1] - area.top) / area.height
