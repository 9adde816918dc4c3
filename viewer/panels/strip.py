"""The strip: the whole reel in small pictures, with its cues and its transitions as ramps.

The wheel zooms about the pointer, from the reel to the single frame; a click goes there; a cue is dragged by
its flag, a ramp by its foot, both frame by frame.
"""

from __future__ import annotations

from typing import Final

from imgui_bundle import ImVec2, imgui

from lamphouse.graph.reel import Cue
from lamphouse.viewer import look
from lamphouse.viewer.desk import Desk
from lamphouse.viewer.panels.draw import box, image, line, text_at
from lamphouse.viewer.screen import Screen
from lamphouse.viewer.screen import Strip as View

ZOOM_STEP: Final = 1.3
LEAST: Final = 12.0  # frames that the strip spans at most zoom
FLAG: Final = 22.0
NEAR: Final = 7.0


def strip(desk: Desk, screen: Screen, height: float) -> None:
    """Draw the strip and take what is done on it."""
    at, width = imgui.get_cursor_screen_pos(), imgui.get_content_region_avail().x
    screen.strip_width = width
    place = _Place(screen.strip, desk.reel.scan.frames, at, width)
    flags = FLAG * screen.scale
    imgui.invisible_button("strip", ImVec2(width, height))
    box((at.x, at.y), (at.x + width, at.y + height), look.SURROUND)
    image(screen.strip.texture, (at.x, at.y + flags), (at.x + width, at.y + height))
    imgui.push_clip_rect(ImVec2(at.x, at.y), ImVec2(at.x + width, at.y + height), True)
    nexts = [place.x(cue.frame) for cue in desk.reel.cues[1:]] + [at.x + width]
    held = desk.holding
    for cue, beyond in zip(desk.reel.cues, nexts, strict=False):
        _cue(screen, place, cue, (at.y, height), is_held=cue is held)
        _name(cue, (place.x(cue.frame), beyond), (at.y, screen.scale), is_held=cue is held)
    imgui.pop_clip_rect()
    _playhead(desk, place, (at.y, height), screen.scale)
    _done(desk, screen, place)


class _Place:
    """Frames to the window's pixels and back."""

    def __init__(self, view: View, frames: int, at: ImVec2, width: float) -> None:
        self.view, self.frames, self.left, self.width = view, frames, at.x, width
        if view.span[1] <= view.span[0] + 1:
            view.span = (0.0, float(frames))

    def x(self, frame: float) -> float:
        """Return where a frame begins."""
        start, stop = self.view.span
        return self.left + (frame - start) / (stop - start) * self.width

    def frame(self, x: float) -> int:
        """Return the frame at a place of the window, within the reel."""
        start, stop = self.view.span
        frame = start + (x - self.left) / self.width * (stop - start)
        return int(max(0, min(frame, self.frames - 1)))


def _cue(screen: Screen, place: _Place, cue: Cue, span: tuple[float, float], *, is_held: bool) -> None:
    top, height = span
    x = place.x(cue.frame)
    colour = look.ACCENT if is_held else look.QUIET
    if cue.arrive == "transition":
        foot = place.x(cue.frame - cue.over)
        draw = imgui.get_window_draw_list()
        corners = (ImVec2(foot, top + height), ImVec2(x, top + height), ImVec2(x, top + FLAG * screen.scale))
        draw.add_triangle_filled(*corners, look.code(colour, 0.35))
        line((foot, top + height), (x, top + FLAG * screen.scale), colour, 2 * screen.scale)
    line((x, top), (x, top + height), colour, 2 * screen.scale)


def _name(cue: Cue, span: tuple[float, float], where: tuple[float, float], *, is_held: bool) -> None:
    """Write a cue's name as far as there is room before the next; `where` is the top, and the scale."""
    top, scale = where
    left, right = span[0] + 5 * scale, span[1] - 3 * scale
    if right > left:
        imgui.push_clip_rect(ImVec2(left, top), ImVec2(right, top + FLAG * scale), True)
        text_at(left, top + 1, cue.name, look.TEXT if is_held else look.QUIET)
        imgui.pop_clip_rect()


def _playhead(desk: Desk, place: _Place, span: tuple[float, float], scale: float) -> None:
    top, height = span
    x = place.x(desk.frame + 0.5)
    line((x, top), (x, top + height), look.BRIGHT, 2 * scale)
    if desk.transport.loop is not None:
        start, stop = (place.x(frame) for frame in desk.transport.loop)
        box((start, top + height - 4 * scale), (stop, top + height), look.ACCENT)


def _done(desk: Desk, screen: Screen, place: _Place) -> None:
    view, mouse = screen.strip, imgui.get_mouse_pos()
    if imgui.is_item_hovered() and imgui.get_io().mouse_wheel:
        _zoom(view, place, mouse.x)
    if imgui.is_item_activated():
        view.held = _grasped(desk, screen, place, mouse)
        if view.held is None:
            desk.go_to(place.frame(mouse.x), screen.now)
    elif imgui.is_item_active():
        _dragged(desk, screen, place, mouse.x)
    if imgui.is_item_deactivated():
        view.held = None
        desk.history.end_drag()


def _grasped(desk: Desk, screen: Screen, place: _Place, mouse: ImVec2) -> tuple[str, int] | None:
    near = NEAR * screen.scale
    top = imgui.get_item_rect_min().y
    for cue in desk.reel.cues:
        if mouse.y < top + FLAG * screen.scale and abs(place.x(cue.frame) - mouse.x) < near:
            return "cue", cue.frame
        foot = place.x(cue.frame - cue.over)
        bottom = imgui.get_item_rect_max().y
        if cue.over and mouse.y > bottom - 2 * FLAG * screen.scale and abs(foot - mouse.x) < near:
            return "ramp", cue.frame
    return None


def _dragged(desk: Desk, screen: Screen, place: _Place, x: float) -> None:
    to = place.frame(x)
    if screen.strip.held is None:
        desk.go_to(to, screen.now)
        return
    what, frame = screen.strip.held
    if what == "ramp":
        desk.arrive(frame, frame - to, drag=f"ramp {frame}")
    else:
        screen.strip.held = (what, desk.move(frame, to, drag="move"))


def _zoom(view: View, place: _Place, x: float) -> None:
    start, stop = view.span
    io = imgui.get_io()
    if io.key_shift:
        by = -io.mouse_wheel * (stop - start) * 0.1
    else:
        by = 0.0
        about = start + (x - place.left) / place.width * (stop - start)
        factor = ZOOM_STEP**-io.mouse_wheel
        factor = max(factor, LEAST / (stop - start))
        start, stop = about + (start - about) * factor, about + (stop - about) * factor
    length = min(stop - start, place.frames)
    start = min(max(0.0, start + by), place.frames - length)
    view.span = (start, start + length)
