"""Drawing that several panels share: text at a point, and the sizes of things at the window's scale."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from imgui_bundle import ImVec2, imgui
from numpy.typing import NDArray

from lamphouse.viewer import colours
from lamphouse.viewer.colours import Colour
from lamphouse.viewer.panels import look


def text_at(x: float, y: float, text: str, colour: Colour = colours.QUIET, width: float = 0.0) -> None:
    """Write `text` with its top left at a point of the window, in lines no longer than a given `width`."""
    draw = imgui.get_window_draw_list()
    size = imgui.get_font_size()
    draw.add_text(imgui.get_font(), size, ImVec2(x, y), look.code(colour), text, wrap_width=width)


def fitted(text: str, room: float) -> str:
    """Return text that is no wider than `room`: what is too much is left out of its middle, or all of it."""
    return _fitted(text, room, _without_middle)


def begun(text: str, room: float) -> str:
    """Return text that is no wider than `room`: what is too much is left out at its end, or all of it."""
    return _fitted(text, room, _without_end)


def _fitted(text: str, room: float, shortened: Callable[[str, int], str]) -> str:
    if imgui.calc_text_size(text).x <= room:
        return text
    least, most = 0, len(text)
    while least < most:
        middle = (least + most + 1) // 2
        fits = imgui.calc_text_size(shortened(text, middle)).x <= room
        least, most = (middle, most) if fits else (least, middle - 1)
    return shortened(text, least) if least > 1 else ""


def _without_middle(text: str, letters: int) -> str:
    return f"{text[: letters // 2]}...{text[len(text) - (letters + 1) // 2 :]}"


def _without_end(text: str, letters: int) -> str:
    return f"{text[:letters].rstrip()}..."


def line(a: tuple[float, float], b: tuple[float, float], colour: Colour, width: float = 1.0) -> None:
    """Draw a straight line."""
    imgui.get_window_draw_list().add_line(ImVec2(*a), ImVec2(*b), look.code(colour), width)


def box(a: tuple[float, float], b: tuple[float, float], colour: Colour, alpha: float | None = None) -> None:
    """Fill a rectangle from its top left to its bottom right."""
    imgui.get_window_draw_list().add_rect_filled(ImVec2(*a), ImVec2(*b), look.code(colour, alpha))


def frame(a: tuple[float, float], b: tuple[float, float], colour: Colour) -> None:
    """Draw the outline of a rectangle."""
    imgui.get_window_draw_list().add_rect(ImVec2(*a), ImVec2(*b), look.code(colour))


def polygon(
    corners: Iterable[tuple[float, float]], colour: Colour, alpha: float | None = None, edge: float = 0.0
) -> None:
    """Fill a polygon, its corners clockwise, with a dark outline of a width where `edge` gives one."""
    points: list[Any] = [ImVec2(*corner) for corner in corners]
    draw = imgui.get_window_draw_list()
    draw.add_concave_poly_filled(points, look.code(colour, alpha))
    if edge:
        draw.add_polyline(points, look.code(colours.SURROUND), edge, imgui.ImDrawFlags_.closed)


def outline(corners: Iterable[tuple[float, float]], colour: Colour, width: float = 1.0) -> None:
    """Draw the outline of a polygon."""
    points: list[Any] = [ImVec2(*corner) for corner in corners]
    imgui.get_window_draw_list().add_polyline(points, look.code(colour), width, imgui.ImDrawFlags_.closed)


def path(points: Iterable[tuple[float, float]], colour: Colour, width: float, edge: float = 0.0) -> None:
    """Draw a line through points, without gaps at its corners, on a darker one where `edge` says how wide."""
    corners: list[Any] = [ImVec2(*point) for point in points]
    if edge:
        imgui.get_window_draw_list().add_polyline(corners, look.code(colours.SURROUND), edge, 0)
    imgui.get_window_draw_list().add_polyline(corners, look.code(colour), width, 0)


def bars(shares: NDArray[Any], foot: tuple[float, float], size: tuple[float, float], colour: Colour) -> None:
    """Draw bars side by side from their `foot` at the left, each so high as its share of the size."""
    for n, share in enumerate(shares.tolist()):
        if share > 0:
            x = foot[0] + (n + 0.5) / len(shares) * size[0]
            line((x, foot[1]), (x, foot[1] - share * size[1]), colour)


def image(texture: int, a: tuple[float, float], b: tuple[float, float]) -> None:
    """Draw a texture between two corners, its first row on top."""
    if texture:
        ref = imgui.ImTextureRef(texture)
        imgui.get_window_draw_list().add_image(ref, ImVec2(*a), ImVec2(*b), ImVec2(0, 0), ImVec2(1, 1))
