"""How the picture is seen in each of its places: in the desk's window, alone on a screen, under the loupe."""

from __future__ import annotations

from typing import Final

from lamphouse.graph.media.codes.framing import framing_of
from lamphouse.graph.scopes.limits import edges
from lamphouse.viewer.models.area import area_of
from lamphouse.viewer.models.comparison import SIDE
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.frame import Point, lie_here, lie_of, other_lie, other_lie_here, shape_of
from lamphouse.viewer.models.guides import all_lines
from lamphouse.viewer.models.loupe import side_of
from lamphouse.viewer.models.mattes import matte_node
from lamphouse.viewer.models.panels import Area, Panels
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.turn.display import Look

UNSEEN: Final = (1.0, 0.0, 1e3)  # an edge beyond which nothing is


def look_of(desk: Desk, panels: Panels, seen: Seen) -> Look:
    """Return how the picture is seen in the desk's window, in pixels of its framebuffer."""
    view, comparison = panels.picture, desk.comparison
    area, dense = area_of(desk, view), view.density
    is_judged = seen.judgement is not None and not view.is_true
    return Look(
        size=(round(view.size[0] * dense), round(view.size[1] * dense)),
        area=_scaled(area, dense),
        edge=comparison.edge(area.width / area.height),
        corner=None if view.at is None else (round(view.at[0] * dense), round(view.at[1] * dense)),
        limits=edges() if panels.limits else (0.0, 0.0),
        is_judged=is_judged,
        lie=lie_here(desk, view),
        other=other_lie_here(desk, view, seen.other),
        seam=round(view.size[0] * dense) // 2 if comparison.way == SIDE else 0,
        scale=panels.scale * dense,
        monitor=panels.screens.desk.monitor,
        matte=panels.mattes.seen if matte_node(desk, panels.node) is not None else "",
        is_nearest=view.is_true,
        moves=desk.transport.is_moving(seen.now),
    )


def look_alone(desk: Desk, panels: Panels, seen: Seen) -> Look:
    """Return how the picture is seen alone on a screen: the frame as it is delivered, and the guides of it.

    Two pictures side by side are for the desk; here the graded one is seen then.
    """
    held, view, comparison = panels.screens, panels.picture, desk.comparison
    framing, shape = framing_of(desk.shown_settings), shape_of(desk.reel, view.delivery)
    area, lie = fitted(shape, held.size), lie_of(desk.reel, view.delivery, framing)
    lines = all_lines(held.alone.guides, desk.reel, view.delivery, lie, shape)
    return Look(
        size=held.size,
        area=area,
        edge=comparison.edge(area.width / area.height),
        lie=lie,
        other=other_lie(desk.reel, view.delivery, framing, seen.other),
        scale=panels.scale,
        monitor=held.alone.monitor,
        surround=0,
        moves=desk.transport.is_moving(seen.now),
        lines=tuple((_in(area, a), _in(area, b)) for a, b in lines),
    )


def look_loupe(desk: Desk, panels: Panels) -> Look:
    """Return how the picture is seen under the loupe: the scan's pixels, each so many times as large."""
    held, scan, dense = panels.loupe, desk.reel.scan, panels.picture.density
    side, wide, high = (
        round(side_of(panels.picture.size, panels.scale) * dense),
        scan.width * held.times,
        scan.height * held.times,
    )
    left, top = side // 2 - round(held.place[0] * wide), side // 2 - round(held.place[1] * high)
    return Look(
        size=(side, side),
        area=Area(left, top, wide, high),
        edge=UNSEEN,
        scale=panels.scale,
        monitor=panels.screens.desk.monitor,
        is_nearest=True,
    )


def fitted(shape: float, size: tuple[int, int]) -> Area:
    """Return where a frame, `shape` times as wide as high, lies on a screen: in its middle, and large."""
    width = min(size[0], round(size[1] * shape))
    height = min(size[1], round(width / shape))
    return Area((size[0] - width) // 2, (size[1] - height) // 2, width, height)


def _in(area: Area, place: Point) -> Point:
    """Return the middle of the pixel at a place of the frame."""
    x, y = area.left + place[0] * (area.width - 1), area.top + place[1] * (area.height - 1)
    return round(x) + 0.5, round(y) + 0.5


def _scaled(area: Area, by: float) -> Area:
    return Area(area.left * by, area.top * by, area.width * by, area.height * by)
