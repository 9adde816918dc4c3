"""The picture: seen in its own shape, larger, moved, compared with the scan, and read pixel by pixel."""

from __future__ import annotations

from fractions import Fraction
from typing import Final

import numpy as np
from imgui_bundle import ImVec2, imgui

from lamphouse.graph.media.ycbcr import codes
from lamphouse.viewer import look
from lamphouse.viewer.desk import WIPE, Desk
from lamphouse.viewer.panels.draw import box, frame, image, text_at
from lamphouse.viewer.screen import Area, PictureView, Screen

ZOOM_STEP: Final = 1.25
MOST_ZOOM: Final = 16.0
AROUND: Final = 3  # pixels on each side of the one that is picked


def fitting(desk: Desk, view: PictureView) -> float:
    """Return the zoom, pixels of the window for a line of the scan, at which the whole picture fits in."""
    return min(view.size[0] / _wide(desk), view.size[1] / desk.reel.scan.height)


def _wide(desk: Desk) -> float:
    return desk.reel.scan.width * float(Fraction(desk.reel.scan.pixel_aspect))


def area_of(desk: Desk, view: PictureView) -> Area:
    """Return where the picture lies in its part of the window, in its own shape."""
    zoom = view.zoom or fitting(desk, view)
    width, height = _wide(desk) * zoom, desk.reel.scan.height * zoom
    left = (view.size[0] - width) / 2 + view.pan[0]
    top = (view.size[1] - height) / 2 + view.pan[1]
    return Area(left, top, width, height)


def picture(desk: Desk, screen: Screen, width: float, height: float) -> None:
    """Draw the picture's part, and take what the pointer does in it."""
    view = screen.picture
    at = imgui.get_cursor_screen_pos()
    view.size = (max(1, int(width)), max(1, int(height)))
    image(view.texture, (at.x, at.y), (at.x + view.size[0], at.y + view.size[1]))
    imgui.invisible_button("picture", ImVec2(*view.size))
    area = area_of(desk, view)
    _pointed(screen, area, at)
    if imgui.is_item_hovered() and imgui.get_io().mouse_wheel:
        _zoomed(desk, view, area, at)
    if screen.picks and imgui.is_item_activated():
        _picked(desk, screen)
    elif imgui.is_item_active():
        _dragged(desk, view, area, at)
    if imgui.is_item_hovered() and imgui.is_mouse_double_clicked(0):
        view.zoom, view.pan = 0.0, (0.0, 0.0)
    _region(view, area, at)
    if said := screen.trouble or desk.said:
        _said(said, at, view.size[0], 16 * screen.scale)
    _read_out(screen, at.x + 12 * screen.scale, at.y + view.size[1] - 26 * screen.scale)


def _region(view: PictureView, area: Area, at: ImVec2) -> None:
    """Take the part that the right button drags over; a right click alone takes the whole picture again."""
    mouse = imgui.get_mouse_pos()
    x = min(max((mouse.x - at.x - area.left) / area.width, 0.0), 1.0)
    y = min(max((mouse.y - at.y - area.top) / area.height, 0.0), 1.0)
    if imgui.is_item_hovered() and imgui.is_mouse_clicked(1):
        view.corner, view.region = (x, y), None
    if view.corner is not None and imgui.is_mouse_down(1):
        (a, b), least = view.corner, 4 / max(area.width, 1)
        if abs(a - x) > least and abs(b - y) > least:
            view.region = (min(a, x), min(b, y), max(a, x), max(b, y))
    elif not imgui.is_mouse_down(1):
        view.corner = None
    if view.region is not None:
        left, top, right, bottom = view.region
        first = (at.x + area.left + left * area.width, at.y + area.top + top * area.height)
        second = (at.x + area.left + right * area.width, at.y + area.top + bottom * area.height)
        frame(first, second, look.ACCENT)


def _said(said: str, at: ImVec2, width: int, gap: float) -> None:
    """Write a sentence over the head of the picture, on a ground that it can be read on."""
    room = width - 4 * gap
    wide, tall = imgui.calc_text_size(said, wrap_width=room)
    left, top = at.x + 2 * gap, at.y + gap
    box((left - gap / 2, top - gap / 2), (left + wide + gap / 2, top + tall + gap / 2), look.SURROUND, 0.85)
    text_at(left, top, said, look.BRIGHT, room)


def _pointed(screen: Screen, area: Area, at: ImVec2) -> None:
    view, mouse = screen.picture, imgui.get_mouse_pos()
    view.under = None
    if screen.graded is None or not imgui.is_item_hovered():
        return
    _, height, width = screen.graded.shape
    x = (mouse.x - at.x - area.left) / area.width * width
    y = (mouse.y - at.y - area.top) / area.height * height
    if 0 <= x < width and 0 <= y < height:
        view.under = int(x), int(y)


def _zoomed(desk: Desk, view: PictureView, area: Area, at: ImVec2) -> None:
    """Zoom about the pointer: what is under it stays there."""
    mouse, fit = imgui.get_mouse_pos(), fitting(desk, view)
    before = view.zoom or fit
    zoom = min(before * ZOOM_STEP ** imgui.get_io().mouse_wheel, MOST_ZOOM)
    if zoom <= fit:
        view.zoom, view.pan = 0.0, (0.0, 0.0)
        return
    grown = 1 - zoom / before
    across = mouse.x - at.x - area.left - area.width / 2
    down = mouse.y - at.y - area.top - area.height / 2
    view.pan = (view.pan[0] + across * grown, view.pan[1] + down * grown)
    view.zoom = zoom


def _dragged(desk: Desk, view: PictureView, area: Area, at: ImVec2) -> None:
    delta = imgui.get_io().mouse_delta
    if desk.compare == WIPE:
        share = (imgui.get_mouse_pos().x - at.x - area.left) / area.width
        desk.wipe = min(max(share, 0.0), 1.0)
    elif view.zoom:
        view.pan = (view.pan[0] + delta.x, view.pan[1] + delta.y)


def _picked(desk: Desk, screen: Screen) -> None:
    """Make neutral what the scan holds about the pointer: the mean of some pixels, for one is grain."""
    screen.picks = False
    under, scanned = screen.picture.under, screen.scanned
    if under is None or scanned is None:
        return
    x, y = under
    part = scanned[:, max(0, y - AROUND) : y + AROUND + 1, max(0, x - AROUND) : x + AROUND + 1]
    desk.make_neutral(part.mean(axis=(1, 2)))


def _read_out(screen: Screen, x: float, y: float) -> None:
    """Write the pixel under the pointer: scan code, signal in per cent, 10-bit code."""
    under = screen.picture.under
    if under is None or screen.graded is None:
        return
    pixel = screen.graded[:, under[1], under[0]]
    numbers = codes(10, "video")
    ten = np.rint(numbers.luma_zero + numbers.luma_span * pixel).astype(int)
    text = f"{under[0]}, {under[1]}     " + "   ".join(f"{p * 100:5.1f} %" for p in pixel)
    text += "     " + "  ".join(f"{code:4d}" for code in ten)
    if screen.scanned is not None and screen.scanned.shape == screen.graded.shape:
        text += "     scan " + "  ".join(f"{s:.3f}" for s in screen.scanned[:, under[1], under[0]])
    wide, tall = imgui.calc_text_size(text)
    box((x - 6, y - 3), (x + wide + 6, y + tall + 3), look.SURROUND, 0.8)  # to be read on clouds as well
    text_at(x, y, text, look.TEXT)
