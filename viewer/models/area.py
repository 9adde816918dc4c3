"""Where the frame lies in its part of the window, in its own shape."""

from __future__ import annotations

from lamphouse.viewer.models.comparison import SIDE
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.frame import shape_of
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
    """Return where the frame lies in its part of the window, in its own shape."""
    zoom = view.zoom or fitting(desk, view)
    width, height = wide_of(desk, view) * zoom, desk.reel.scan.height * zoom
    left = (room_of(desk, view) - width) / 2 + view.pan[0]
    top = (view.size[1] - height) / 2 + view.pan[1]
    return Area(left, top, width, height)
