"""The marks of the strip, each kind with a shape of its own, so that no colour has to tell them apart.

A place is a wedge on the lower edge, what to look at again a pennant, the head mark a lozenge; a soft shot
is a hatched band over as much film as it is. The sync pip of the sound is a square.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from imgui_bundle import ImVec2, imgui

from lamphouse.graph.reel.records import Mark, Reel
from lamphouse.viewer import colours
from lamphouse.viewer.panels.draw import box, line, polygon
from lamphouse.viewer.panels.strip_cues import FLAG
from lamphouse.viewer.panels.strip_ruler import Ruler

HALF: Final = 6.0  # pixels from a mark's middle to its sides
TALL: Final = 15.0
BAND: Final = 9.0
HATCH: Final = 7.0
LEAST: Final = 4.0  # pixels of the shortest band
Shape = Callable[[float, float, float], list[tuple[float, float]]]


def draw_marks(ruler: Ruler, reel: Reel, scale: float) -> None:
    """Draw what the strip spans of the reel's marks, and its head mark."""
    start, stop = ruler.view.span
    for mark in reel.marks:
        if mark.frame < stop and mark.frame + mark.frames > start:
            if mark.kind == "soft":
                _band(ruler, mark, scale)
            else:
                _stretch(ruler, mark, scale)
                draw_shape(mark.kind, ruler.x(mark.frame + 0.5), ruler.bottom, scale)
    draw_shape("head", ruler.x(reel.head_mark + 0.5), ruler.bottom, scale)


def marks_under(ruler: Ruler, reel: Reel, mouse: ImVec2, scale: float) -> list[Mark | None]:
    """Return the marks whose shapes are at the pointer; None among them is the head mark."""
    band = ruler.top + FLAG * scale
    found: list[Mark | None] = []
    if band <= mouse.y < band + BAND * scale:
        at = ruler.exact(mouse.x)
        found += (m for m in reel.marks if m.kind == "soft" and m.frame <= at < m.frame + m.frames)
    if mouse.y >= ruler.bottom - TALL * scale:
        reach = HALF * scale * ruler.per_pixel
        at = ruler.exact(mouse.x) - 0.5
        found += (m for m in reel.marks if m.kind != "soft" and abs(m.frame - at) <= reach)
        if abs(reel.head_mark - at) <= reach:
            found.append(None)
    return found


def draw_pip(ruler: Ruler, frame: int | None, scale: float) -> None:
    """Draw the sync pip of the sound, where there is one."""
    if frame is not None:
        draw_shape("pip", ruler.x(frame + 0.5), ruler.bottom, scale)


def is_on_pip(ruler: Ruler, frame: int, mouse: ImVec2, scale: float) -> bool:
    """Say whether the pointer is on the sync pip beside `frame`."""
    off = abs(ruler.exact(mouse.x) - 0.5 - frame)
    return mouse.y >= ruler.bottom - TALL * scale and off <= HALF * scale * ruler.per_pixel


def draw_shape(kind: str, x: float, bottom: float, scale: float) -> None:
    """Draw the shape of one kind of mark with its foot at a point of the window."""
    polygon(_SHAPES[kind](x, bottom, scale), colours.BRIGHT, edge=scale)


def _wedge(x: float, bottom: float, scale: float) -> list[tuple[float, float]]:
    return [(x - HALF * scale, bottom), (x, bottom - TALL * scale), (x + HALF * scale, bottom)]


def _pennant(x: float, bottom: float, scale: float) -> list[tuple[float, float]]:
    w, h = 2 * HALF * scale, TALL * scale
    stem = 2 * scale
    return [
        (x - stem / 2, bottom),
        (x - stem / 2, bottom - h),
        (x + w, bottom - 0.72 * h),
        (x + stem / 2, bottom - 0.44 * h),
        (x + stem / 2, bottom),
    ]


def _lozenge(x: float, bottom: float, scale: float) -> list[tuple[float, float]]:
    w, h = HALF * scale, TALL * scale
    return [(x, bottom), (x - w, bottom - h / 2), (x, bottom - h), (x + w, bottom - h / 2)]


def _square(x: float, bottom: float, scale: float) -> list[tuple[float, float]]:
    w, top = HALF * scale, bottom - 2 * HALF * scale
    return [(x - w, bottom), (x - w, top), (x + w, top), (x + w, bottom)]


_SHAPES: Final[dict[str, Shape]] = {
    "place": _wedge,
    "check": _pennant,
    "head": _lozenge,
    "pip": _square,
}


def _stretch(ruler: Ruler, mark: Mark, scale: float) -> None:
    if mark.frames > 1:
        start, stop = ruler.x(mark.frame), ruler.x(mark.frame + mark.frames)
        y = ruler.bottom - 2 * scale
        line((start, y), (stop, y), colours.BRIGHT, 2 * scale)
        line((stop, y - 4 * scale), (stop, ruler.bottom), colours.BRIGHT, 2 * scale)


def _band(ruler: Ruler, mark: Mark, scale: float) -> None:
    left = ruler.x(mark.frame)
    right = max(ruler.x(mark.frame + mark.frames), left + LEAST * scale)
    top = ruler.top + FLAG * scale
    hatched((left, top), (right, top + BAND * scale), (ruler.left, ruler.left + ruler.width), scale)


def hatched(
    corner: tuple[float, float], far: tuple[float, float], seen: tuple[float, float], scale: float
) -> None:
    """Fill a rectangle with slanting strokes, as far as it lies between two columns of pixels."""
    left, right = max(corner[0], seen[0]), min(far[0], seen[1])
    tall, step = far[1] - corner[1], HATCH * scale
    box((left, corner[1]), (right, far[1]), colours.SURROUND, 0.7)
    imgui.push_clip_rect(ImVec2(left, corner[1]), ImVec2(right, far[1]), True)
    x = left - tall
    while x < right:
        line((x, far[1]), (x + tall, corner[1]), colours.BRIGHT, 1.5 * scale)
        x += step
    imgui.pop_clip_rect()
    for edge in (corner[0], far[0]):
        line((edge, corner[1]), (edge, far[1]), colours.BRIGHT, 2 * scale)
