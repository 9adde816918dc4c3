"""The frame that is delivered, as the desk shows it, and where in it the film's picture lies.

Places are shares of a picture from its top left, right and down. Places in the film are those of the scan:
they stay with the film, wherever it is moved in the frame.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Final

from lamphouse.graph.edits.framing import film_edges, shape_of_film
from lamphouse.graph.media.codes.framing import NEUTRAL, Framing, framing_of
from lamphouse.graph.media.codes.placing import Placing, placing_of, unplaced
from lamphouse.graph.reel.records import Delivery, Reel
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import PictureView
from lamphouse.viewer.models.seen import OtherPicture, Part

Point = tuple[float, float]
Row = tuple[float, float, float]
Box = tuple[float, float, float, float]  # left, top, right, bottom

WHOLE: Final = (0.0, 0.0, 1.0, 1.0)
# What is kept off each edge, as a share of width and height. Wider frames: EBU R 95 (its values from memory);
# narrower ones: the practice of 4:3, no source.
WIDE: Final = Fraction(3, 2)  # width to height from which a frame is a wide one
SAFE_WIDE: Final = (("action safe", 0.035), ("graphics safe", 0.05))
SAFE_NARROW: Final = (("action safe", 0.05), ("title safe", 0.1))


@dataclass(frozen=True, slots=True)
class Lie:
    """How a picture lies in the frame: a place (x, y) of the frame shows one of the picture.

    That is across[0] * x + across[1] * y + across[2], and `down` likewise. It is seen within `window` of
    the frame and within `edges` of the picture; all else of the frame is black.
    """

    across: Row = (1.0, 0.0, 0.0)
    down: Row = (0.0, 1.0, 0.0)
    edges: Box = WHOLE
    window: Box = WHOLE

    def at(self, point: Point) -> Point | None:
        """Return which place of the picture a place of the frame shows; None where it is black."""
        found = self.under(point)
        return found if _is_in(self.window, point) and _is_in(self.edges, found) else None

    def under(self, point: Point) -> Point:
        """Return which place of the picture lies at one of the frame, be it seen or not."""
        x, y = point
        return _along(self.across, x, y), _along(self.down, x, y)

    def shown(self, point: Point) -> Point:
        """Return where in the frame a place of the picture lies, be it seen or not."""
        (a, b, c), (d, e, f) = self.across, self.down
        x, y, area = point[0] - c, point[1] - f, a * e - b * d
        return (e * x - b * y) / area, (a * y - d * x) / area


PLAIN = Lie()


def _along(row: Row, x: float, y: float) -> float:
    return row[0] * x + row[1] * y + row[2]


def _is_in(box: Box, point: Point) -> bool:
    return box[0] <= point[0] < box[2] and box[1] <= point[1] < box[3]


def placing(reel: Reel, delivery: Delivery | None) -> Placing:
    """Return how the scan is placed in the frame of a delivery, or in the scan's own raster."""
    return placing_of(delivery, reel) if delivery else unplaced(reel)


def shape_of(reel: Reel, delivery: Delivery | None) -> float:
    """Return the width of the frame for a height of 1."""
    outer = placing(reel, delivery).outer
    return float(outer.width * outer.pixel_aspect / outer.height)


def lie_of(reel: Reel, delivery: Delivery | None, framing: Framing) -> Lie:
    """Return how the scan lies in the frame under a framing."""
    return _lie(placing(reel, delivery), framing)


def other_lie(reel: Reel, delivery: Delivery | None, framing: Framing, other: OtherPicture) -> Lie | None:
    """Return how what is compared with a picture of that framing lies in the frame; None where nothing is."""
    part = other.part
    if part is None:
        return None
    lie = lie_of(reel, delivery, NEUTRAL if other.is_framed else other.framing or framing)
    edges = WHOLE if other.is_framed else (*_into(lie.edges[:2], part), *_into(lie.edges[2:], part))
    window = WHOLE if other.is_framed else lie.window
    return _affine(lambda point: _into(lie.under(point), part), edges, window)


def in_frame(lie: Lie, box: Box) -> Box:
    """Return the box of the frame, upright, that holds a box of a picture which lies in it so."""
    across, down = zip(*(lie.shown(corner) for corner in corners_of(box)), strict=True)
    held = [[min(max(place, 0.0), 1.0) for place in places] for places in (across, down)]
    return min(held[0]), min(held[1]), max(held[0]), max(held[1])


def lie_here(desk: Desk, view: PictureView) -> Lie:
    """Return how the scan lies in the frame that the desk shows now; at 1:1 that is the scan's raster."""
    return PLAIN if view.is_true else lie_of(desk.reel, view.delivery, framing_of(desk.shown_settings))


def other_lie_here(desk: Desk, view: PictureView, other: OtherPicture) -> Lie | None:
    """Return how what is compared with the picture lies in the frame that the desk shows now."""
    framing = framing_of(desk.shown_settings)
    lie = other_lie(desk.reel, view.delivery, framing, other)
    if lie is None or not view.is_true:
        return lie
    # The frame is the scan itself now: what lies in the delivered one is found where that shows the scan.
    framed = lie_of(desk.reel, view.delivery, framing)
    return _affine(lambda point: lie.under(framed.shown(point)), WHOLE, WHOLE)


def moved(desk: Desk, view: PictureView, by: Point) -> Point:
    """Return how much farther right and down the film's position is that is moved by shares of the frame."""
    framing, placed = framing_of(desk.settings), placing(desk.reel, view.delivery)
    map_, turned = placed.view(framing), framing.turned_shape(placed.scan)
    u, v = by[0] * placed.outer.width, by[1] * placed.outer.height
    across = float(map_.across[0] * u + map_.across[1] * v)
    down = float(map_.down[0] * u + map_.down[1] * v)
    return across * float(turned.pixel_aspect) / turned.height, down / turned.height


def safe_areas(reel: Reel, delivery: Delivery | None) -> list[tuple[str, Box]]:
    """Return the safe areas of the frame, by what they are called."""
    areas = SAFE_WIDE if shape_of(reel, delivery) >= WIDE else SAFE_NARROW
    return [(name, (share, share, 1 - share, 1 - share)) for name, share in areas]


def gate_of(reel: Reel) -> tuple[Box, str]:
    """Return the edges of the film's picture in the scan, and its shape; the usual one where none is said."""
    film = shape_of_film(reel)
    return film_edges(reel, film), f"{reel.gauge}, {float(film.ratio):.2f}"


def corners_of(box: Box) -> list[Point]:
    """Return the corners of a box, clockwise."""
    left, top, right, bottom = box
    return [(left, top), (right, top), (right, bottom), (left, bottom)]


def _into(point: Point, part: Part) -> Point:
    return part[0] + point[0] * part[2], part[1] + point[1] * part[3]


@lru_cache(maxsize=32)
def _lie(placing: Placing, framing: Framing) -> Lie:
    view, scan, outer = placing.view(framing), placing.scan, placing.outer

    def under(point: Point) -> Point:
        x, y = view.under(point[0] * outer.width, point[1] * outer.height)
        x, y = framing.unturned((x, y), scan.width, scan.height)
        return float(x) / scan.width, float(y) / scan.height

    rows, columns = view.window
    left, top, right, bottom = map(float, placing.open_edges(framing))
    edges = left / scan.width, top / scan.height, right / scan.width, bottom / scan.height
    window = (
        columns.start / outer.width,
        rows.start / outer.height,
        columns.stop / outer.width,
        rows.stop / outer.height,
    )
    return _affine(under, edges, window)


def _affine(under: Callable[[Point], Point], edges: Box, window: Box) -> Lie:
    """Return the map that agrees with `under` at three corners of the frame."""
    c, f = under((0.0, 0.0))
    (a, d), (b, e) = under((1.0, 0.0)), under((0.0, 1.0))
    return Lie((a - c, b - c, c), (d - f, e - f, f), edges, window)
