"""The picture: seen in its own shape, larger, moved, compared with the scan, and read pixel by pixel."""

from __future__ import annotations

from typing import Final

import numpy as np
from imgui_bundle import ImVec2, imgui
from numpy.typing import NDArray

from lamphouse.graph.media.codes.ycbcr import codes
from lamphouse.nodes.framing import FRAMING
from lamphouse.viewer import colours
from lamphouse.viewer.models.area import area_of, fitting, room_of, turn_true
from lamphouse.viewer.models.comparison import GRADED, SIDE, WIPE
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.frame import corners_of, lie_here, moved, other_lie_here
from lamphouse.viewer.models.neutral import make_neutral
from lamphouse.viewer.models.panels import Area, Panels, PictureView
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.panels import look
from lamphouse.viewer.panels.draw import box, line, outline, text_at
from lamphouse.viewer.panels.foot import foot
from lamphouse.viewer.panels.framing_handles import drag_framing, draw_framing, grasp_framing
from lamphouse.viewer.panels.grasp import grasped
from lamphouse.viewer.panels.loupe import click_loupe, is_over_loupe, loupe
from lamphouse.viewer.panels.mattes import drag_matte, draw_matte, grasp_matte
from lamphouse.viewer.panels.overlays import overlays
from lamphouse.viewer.panels.proposed import marked, proposed
from lamphouse.viewer.panels.wipe import drag, draw_handles, grasp, is_at_edge

ZOOM_STEP: Final = 1.25
MOST_ZOOM: Final = 16.0
TRUE: Final = "1:1, each pixel of the scan one of the monitor, not framed"
AROUND: Final = 3  # pixels on each side of the one that is picked

Point = tuple[float, float]
Pixel = tuple[tuple[int, int], NDArray[np.float32] | None, str]


def picture(desk: Desk, panels: Panels, seen: Seen, width: float, height: float) -> None:
    """Draw the picture's part, and take what the pointer does in it."""
    view = panels.picture
    at, view.density = _whole(imgui.get_cursor_screen_pos()), imgui.get_io().display_framebuffer_scale.x
    below = imgui.get_frame_height() + look.GAP * panels.scale
    view.size = (max(1, int(width)), max(1, int(height - below)))
    view.at = (at.x, at.y)
    if not seen.textures.picture:  # else it lies there already
        box((at.x, at.y), (at.x + view.size[0], at.y + view.size[1]), colours.SURROUND)
    imgui.invisible_button("picture", ImVec2(*view.size))
    area = area_of(desk, view)
    pointer = _point_at(desk, panels, seen, area, at)
    if imgui.is_item_hovered() and imgui.get_io().mouse_wheel:
        _zoomed(desk, view, area, pointer)
    _left_button(desk, panels, seen, area, pointer)
    _region(desk, view, area, at)
    guides = set() if view.is_true else panels.screens.desk.guides
    for begin in _parts(desk, view):
        overlays(desk, view, guides, area, ImVec2(at.x + begin, at.y), scale=panels.scale)
        draw_matte(desk, panels, area, (at.x + begin, at.y))
        draw_framing(desk, panels, area, (at.x + begin, at.y))
    marked(desk, panels, area, (at.x, at.y))
    proposed(desk, panels, area, (at.x, at.y))
    if desk.comparison.way == SIDE:
        middle = at.x + room_of(desk, view)
        line((middle, at.y), (middle, at.y + view.size[1]), colours.LINE, panels.scale)
    if desk.comparison.way == WIPE and (view.dragged or imgui.is_item_hovered()):
        draw_handles(desk.comparison, view, area_of(desk, view), at, panels.scale)
    if text := "\n".join(desk.troubles.lines):
        _message(text, at, view.size[0], 16 * panels.scale)
    loupe(desk, panels, seen, (at.x, at.y))
    if view.is_true:
        _noted(TRUE, (at.x + view.size[0], at.y + 6 * panels.scale), panels.scale)
    _masters_place(desk, panels, seen, (at.x + view.size[0], at.y + view.size[1]))
    _read_out(desk, panels, seen, at.x + 12 * panels.scale, at.y + view.size[1] - 26 * panels.scale)
    foot(desk, panels, seen)


def _masters_place(desk: Desk, panels: Panels, seen: Seen, corner: Point) -> None:
    """Write which frame the master's is: while the film runs it may be another than the picture's own."""
    if desk.comparison.way == GRADED or seen.other.frame is None:
        return
    text = f"master {desk.readings(seen.other.frame).timecode}"
    _noted(text, (corner[0], corner[1] - 26 * panels.scale), panels.scale)


def _noted(text: str, right: Point, scale: float) -> None:
    """Write a note at the right of the picture, on a ground that it can be read on."""
    wide, tall = imgui.calc_text_size(text)
    x, y = right[0] - wide - 12 * scale, right[1]
    box((x - 6, y - 3), (x + wide + 6, y + tall + 3), colours.SURROUND, 0.8)
    text_at(x, y, text, colours.TEXT)


def _whole(at: ImVec2) -> ImVec2:
    """Return where the picture begins, on a whole pixel: nothing must be filtered at 1:1."""
    return ImVec2(float(round(at.x)), float(round(at.y)))


def _left_button(desk: Desk, panels: Panels, seen: Seen, area: Area, pointer: Point) -> None:
    """Pick, or take hold of the wipe's edge or of the picture; a double click puts them back."""
    view, comparison = panels.picture, desk.comparison
    is_wipe = comparison.way == WIPE
    if imgui.is_item_activated():
        _taken_hold(desk, panels, seen, area, pointer)
    elif imgui.is_item_deactivated():
        view.dragged = ""
    if imgui.is_item_hovered() and imgui.is_mouse_double_clicked(0):
        view.dragged = ""
        if is_wipe and is_at_edge(comparison, view, area, pointer, panels.scale):
            comparison.upright(view.middle)
        else:
            view.zoom, view.pan, view.is_true = 0.0, (0.0, 0.0), False
    delta = imgui.get_io().mouse_delta
    if view.dragged == "film":
        _moved_film(desk, panels, (delta.x / area.width, delta.y / area.height))
    elif view.dragged == "picture" and (view.zoom or view.is_true):
        view.pan = (view.pan[0] + delta.x, view.pan[1] + delta.y)
    elif view.dragged == "matte":
        drag_matte(desk, panels, area, pointer)
    elif view.dragged == "framing":
        drag_framing(desk, panels, area, pointer)
    elif view.dragged and is_wipe:
        drag(comparison, view, area, pointer)


def _taken_hold(desk: Desk, panels: Panels, seen: Seen, area: Area, pointer: Point) -> None:
    """Pick, go where the loupe says, or take hold of a matte's handle, the film, the wipe or the picture."""
    view, comparison = panels.picture, desk.comparison
    if panels.picks:
        _picked(desk, panels, seen)
    elif view.pointer is not None and is_over_loupe(panels, view.pointer):
        click_loupe(desk, panels, view.pointer, seen.now)
    elif grasp_matte(desk, panels, area, pointer):
        view.dragged = "matte"
    elif grasp_framing(desk, panels, area, pointer):
        view.dragged = "framing"
    elif imgui.get_io().key_alt and not view.is_true:
        view.dragged = "film"
    else:
        view.dragged = "picture"
        if comparison.way == WIPE:
            grasp(comparison, view, area, pointer, panels.scale)


def _moved_film(desk: Desk, panels: Panels, by: Point) -> None:
    """Move the film in the frame with the hand, by shares of the frame."""
    if by == (0.0, 0.0):
        return
    held = grasped(desk, panels, f"{FRAMING}.position")
    for axis, amount in zip("xy", moved(desk, panels.picture, by), strict=True):
        desk.nudge(f"{FRAMING}.position_{axis}", (amount,), held)


def _region(desk: Desk, view: PictureView, area: Area, at: ImVec2) -> None:
    """Take the part that the right button drags over; a right click alone takes the whole picture again."""
    mouse = imgui.get_mouse_pos()
    if imgui.is_item_hovered() and imgui.is_mouse_clicked(1):
        view.begun_at = float(_half(desk, view, mouse.x - at.x))
    place = (
        (mouse.x - at.x - view.begun_at - area.left) / area.width,
        (mouse.y - at.y - area.top) / area.height,
    )
    found = lie_here(desk, view).under((_held(place[0]), _held(place[1])))
    x, y = _held(found[0]), _held(found[1])
    if imgui.is_item_hovered() and imgui.is_mouse_clicked(1):
        view.corner, view.region = (x, y), None
    if view.corner is not None and imgui.is_mouse_down(1):
        (a, b), least = view.corner, 4 / max(area.width, 1)
        if abs(a - x) > least and abs(b - y) > least:
            view.region = (min(a, x), min(b, y), max(a, x), max(b, y))
    elif not imgui.is_mouse_down(1):
        view.corner = None
    for begin in _parts(desk, view):
        _outlined(desk, view, area, (at.x + begin, at.y))


def _held(share: float) -> float:
    return min(max(share, 0.0), 1.0)


def _parts(desk: Desk, view: PictureView) -> tuple[int, ...]:
    """Return where each picture begins, of one or of two side by side."""
    return (0, room_of(desk, view)) if desk.comparison.way == SIDE else (0,)


def _outlined(desk: Desk, view: PictureView, area: Area, at: Point) -> None:
    """Draw the region that is marked, in the picture or in one of two; it lies where the film does."""
    if view.region is None:
        return
    lie = lie_here(desk, view)
    corners = (lie.shown(corner) for corner in corners_of(view.region))
    points = [(at[0] + area.left + x * area.width, at[1] + area.top + y * area.height) for x, y in corners]
    draw = imgui.get_window_draw_list()
    draw.push_clip_rect(ImVec2(*at), ImVec2(at[0] + room_of(desk, view), at[1] + view.size[1]), True)
    outline(points, colours.ACCENT)
    draw.pop_clip_rect()


def _half(desk: Desk, view: PictureView, x: float) -> int:
    """Return where the picture begins, of two side by side, that a point across the part is in."""
    room = room_of(desk, view)
    return room if desk.comparison.way == SIDE and x >= room else 0


def _message(text: str, at: ImVec2, width: int, gap: float) -> None:
    """Write a sentence over the head of the picture, on a ground that it can be read on."""
    room = width - 4 * gap
    wide, tall = imgui.calc_text_size(text, wrap_width=room)
    left, top = at.x + 2 * gap, at.y + gap
    box(
        (left - gap / 2, top - gap / 2), (left + wide + gap / 2, top + tall + gap / 2), colours.SURROUND, 0.85
    )
    text_at(left, top, text, colours.BRIGHT, room)


def _point_at(desk: Desk, panels: Panels, seen: Seen, area: Area, at: ImVec2) -> Point:
    """Take which pixel of which picture the pointer is over; return where it is in that picture's part."""
    view, mouse = panels.picture, imgui.get_mouse_pos()
    half = _half(desk, view, mouse.x - at.x)
    pointer = mouse.x - at.x - half, mouse.y - at.y
    view.pointer = pointer if imgui.is_item_hovered() else None
    x, y = (pointer[0] - area.left) / area.width, (pointer[1] - area.top) / area.height
    across, down = room_of(desk, view) / 2, view.size[1] / 2
    view.middle = (
        min(max((across - area.left) / area.width, 0.0), 1.0),
        min(max((down - area.top) / area.height, 0.0), 1.0),
    )
    view.pointed = (x, y) if imgui.is_item_hovered() and 0 <= x < 1 and 0 <= y < 1 else None
    view.in_scan = lie_here(desk, view).at(view.pointed) if view.pointed is not None else None
    view.under = None
    if view.in_scan is not None and seen.graded is not None:
        view.under = _pixel(view.in_scan, seen.graded)
    way, shape = desk.comparison.way, area.width / area.height
    is_beyond = half > 0 if way == SIDE else desk.comparison.beyond((x, y), shape) >= 0
    view.is_on_other = view.pointed is not None and is_beyond
    return pointer


def _pixel(point: Point, picture: NDArray[np.float32]) -> tuple[int, int]:
    return int(point[0] * picture.shape[2]), int(point[1] * picture.shape[1])


def _zoomed(desk: Desk, view: PictureView, area: Area, pointer: Point) -> None:
    """Zoom about the pointer: what is under it stays there."""
    if view.is_true:
        turn_true(desk, view)
        area = area_of(desk, view)
    fit = fitting(desk, view)
    before = view.zoom or fit
    zoom = min(before * ZOOM_STEP ** imgui.get_io().mouse_wheel, MOST_ZOOM)
    if zoom <= fit:
        view.zoom, view.pan = 0.0, (0.0, 0.0)
        return
    grown = 1 - zoom / before
    across = pointer[0] - area.left - area.width / 2
    down = pointer[1] - area.top - area.height / 2
    view.pan = (view.pan[0] + across * grown, view.pan[1] + down * grown)
    view.zoom = zoom


def _picked(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Make neutral what the scan holds about the pointer: the mean of some pixels, for one is grain."""
    if seen.found is not None and seen.found.is_copy:
        desk.message = "A neutral is picked from the scan itself; stop, and click once its frame is seen."
        return
    panels.picks = False
    point, scanned = panels.picture.in_scan, seen.scanned
    if point is None or scanned is None:
        return
    x, y = _pixel(point, scanned)
    part = scanned[:, max(0, y - AROUND) : y + AROUND + 1, max(0, x - AROUND) : x + AROUND + 1]
    make_neutral(desk, part.mean(axis=(1, 2)), point, panels.node)


def _read_out(desk: Desk, panels: Panels, seen: Seen, x: float, y: float) -> None:
    """Write the pixel under the pointer: which picture's it is, signal in per cent, 10-bit and scan code.

    Of the graded picture nothing is written while what was read of it is of another frame.
    """
    found = _pixel_under(desk, panels, seen)
    if found is None:
        return
    (across, down), pixel, text = found
    text += f"{across}, {down}     " + ("" if pixel is None else _levels(pixel))
    passes = seen.a_second is not None or (seen.found is not None and seen.found.is_copy)
    point, scanned = panels.picture.in_scan, None if passes else seen.scanned
    if point is not None and scanned is not None and not panels.picture.is_on_other:
        across, down = _pixel(point, scanned)
        text += "     scan " + "  ".join(f"{s:.3f}" for s in scanned[:, down, across])
    room = panels.picture.size[0] - 24 * panels.scale
    wide, tall = imgui.calc_text_size(text, wrap_width=room)
    y -= tall - imgui.get_text_line_height()
    box((x - 6, y - 3), (x + wide + 6, y + tall + 3), colours.SURROUND, 0.8)  # to be read on clouds as well
    text_at(x, y, text, colours.TEXT, room)


def _levels(pixel: NDArray[np.float32]) -> str:
    numbers = codes(10, "video")
    ten = np.rint(numbers.luma_zero + numbers.luma_span * pixel).astype(int)
    return "   ".join(f"{p * 100:5.1f} %" for p in pixel) + "     " + "  ".join(f"{n:4d}" for n in ten)


def _pixel_under(desk: Desk, panels: Panels, seen: Seen) -> Pixel | None:
    """Return the pixel's point in its own picture, its signal (3,), and which picture it is, of two.

    None for the signal stands for one that is not known yet.
    """
    view, other = panels.picture, seen.other
    picture, name, point = seen.graded, GRADED, view.in_scan
    if view.is_on_other and view.pointed is not None:
        lie = other_lie_here(desk, view, other)
        picture, name = other.picture, desk.comparison.kind
        point = lie.at(view.pointed) if lie is not None else None
    if picture is None or point is None:
        return None
    x, y = _pixel(point, picture)
    is_known = view.is_on_other or not seen.is_late
    is_alone = desk.comparison.way == GRADED
    return (x, y), picture[:, y, x] if is_known else None, "" if is_alone else f"{name}     "
