"""The film's picture in the raster of a delivery: one step from the scan's raster into the master's.

A delivery has a window in its raster, in the shape that it shows: all of the film's picture, as much of it
as fills the raster, or a part of another shape. Framing moves the film behind that window. Both together are
one map from pixels of the master to places in the scan, along which each axis is filtered once; where it
does no more than shift by whole pixels nothing is filtered. Black is what no film lies behind: its edge is
as sharp as a pixel can show it, and whatever lies beside it does not ring.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, cos, floor, hypot, isfinite, radians, sin
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.codes.framing import NEUTRAL, Edges, Framing
from lamphouse.graph.media.codes.raster import Shape, aspect_of, inner_raster, offset, raster_of
from lamphouse.graph.media.codes.resample import (
    FILTERS,
    Line,
    Weigh,
    check_filter,
    slant,
    taps,
    weighted,
)
from lamphouse.graph.reel.film_shapes import film_shape
from lamphouse.graph.reel.limits import FILL, FIT, picture_shape
from lamphouse.graph.reel.records import Delivery, Reel

Picture = NDArray[np.float32]
Place = Any  # a Fraction where nothing is turned, else a float
Row = tuple[Place, Place, Place]
Window = tuple[slice, slice]  # rows and columns of a raster

HALF: Final = Fraction(1, 2)
NEAR: Final = Fraction(1, 1_000_000)  # of a pixel: a position typed to three places is as near to a whole one


@dataclass(frozen=True, slots=True)
class View:
    """How one frame is seen: pixel (u, v) of the master shows place (x, y) of the turned scan.

    x = across[0] * u + across[1] * v + across[2], and y = down likewise, both counted in pixels from the
    left and upper edge of their raster. `window` is the part of the master's raster that the film is seen
    in, and `film` the edges of the film's picture in the turned scan.
    """

    window: Window
    across: Row
    down: Row
    film: Edges

    def under(self, u: Place, v: Place) -> tuple[Place, Place]:
        """Return the place of the turned scan that one of the master shows."""
        (a, b, c), (d, e, f) = self.across, self.down
        return a * u + b * v + c, d * u + e * v + f

    @property
    def is_turned(self) -> bool:
        """Whether lines of the master run aslant over the scan."""
        return bool(self.across[1] or self.down[0])


@dataclass(frozen=True, slots=True)
class Placing:
    """The raster of a scan in that of a delivery, whatever the framing of its frames.

    `shown` is which shape of the film's picture is seen: `fit`, `fill` or a ratio. `film` is the shape of the
    film's picture in the middle of the scan, None where that is all of it.
    """

    scan: Shape
    outer: Shape
    shown: str = FIT
    film: Fraction | None = None
    filter_name: str = "lanczos3"

    @property
    def direct(self) -> Window | None:
        """Where an unframed picture stands pixel for pixel, all of it; None where it is scaled or cut."""
        view = self.view(NEUTRAL)
        rows, columns = view.window
        is_whole = view.film == (0, 0, self.scan.width, self.scan.height)
        is_same = (_size(rows), _size(columns)) == (self.scan.height, self.scan.width)
        return view.window if is_whole and is_same and (view.across[0], view.down[1]) == (1, 1) else None

    @property
    def part(self) -> tuple[float, float, float, float]:
        """Where all of the unframed scan lies: left, top, width and height in shares of the raster."""
        view = self.view(NEUTRAL)
        left, top = _seen_at(view, 0, 0)
        right, bottom = _seen_at(view, self.scan.width, self.scan.height)
        wide, high = self.outer.width, self.outer.height
        return (
            float(left / wide),
            float(top / high),
            float((right - left) / wide),
            float((bottom - top) / high),
        )

    def view(self, framing: Framing) -> View:
        """Return how a frame of that framing is seen. Raises BadInput where nothing would be left of it."""
        turned = framing.turned_shape(self.scan)
        film = framing.turned_edges(self._film(), self.scan.width, self.scan.height)
        wide, high = self._shown(film, turned.pixel_aspect)
        ratio = wide / high * turned.pixel_aspect / self.outer.pixel_aspect
        inner = inner_raster(ratio, self.outer.width, self.outer.height)
        left, top = offset(self.outer.width, inner[0]), offset(self.outer.height, inner[1])
        middle = (left + HALF * inner[0], top + HALF * inner[1])
        steps = (wide / inner[0], high / inner[1])
        return View(
            (slice(top, top + inner[1]), slice(left, left + inner[0])),
            *_map(turned, film, steps, middle, framing),
            framing.turned_edges(self.open_edges(framing), self.scan.width, self.scan.height),
        )

    def place(self, picture: Picture, framing: Framing = NEUTRAL, weigh: Weigh = weighted) -> Picture:
        """Return a corrected picture (3, h, w) of the scan's raster in that of the delivery.

        `weigh` does the sums. What holds no film is black.
        """
        check_filter(self.filter_name)
        view = self.view(framing)
        turned = framing.turned(picture)
        lit = _lit(view)
        out = np.zeros((3, self.outer.height, self.outer.width), np.float32)
        if not all(map(_size, lit)):
            return out
        made = (_slanted if view.is_turned else _straight)(turned, view, lit, self.filter_name, weigh)
        edges = list(_edges(view, lit))
        if made.shape == out.shape and not edges:
            return made
        out[:, lit[0], lit[1]] = made
        for (rows, columns), share in edges:
            out[:, rows, columns] *= share
        return out

    def _film(self) -> Edges:
        """Return the edges of the film's picture in the scan."""
        width, height, aspect = self.scan.width, self.scan.height, self.scan.pixel_aspect
        if self.film is None:
            return Fraction(0), Fraction(0), Fraction(width), Fraction(height)
        inner = inner_raster(self.film / aspect, width, height)
        left, top = Fraction(offset(width, inner[0])), Fraction(offset(height, inner[1]))
        return left, top, left + inner[0], top + inner[1]

    def open_edges(self, framing: Framing) -> Edges:
        """Return the edges, in the scan, of what is not blanked of the film's picture."""
        left, top, right, bottom = self._film()
        if not any(framing.gate):
            return left, top, right, bottom
        down = self.scan.height
        across = down / self.scan.pixel_aspect
        by = [Fraction(share) for share in framing.gate]
        return left + by[0] * across, top + by[1] * down, right - by[2] * across, bottom - by[3] * down

    def _shown(self, film: Edges, pixel_aspect: Fraction) -> tuple[Fraction, Fraction]:
        """Return width and height, in pixels of the turned scan, of what is seen of the film's picture."""
        wide, high = film[2] - film[0], film[3] - film[1]
        own = wide / high * pixel_aspect
        if self.shown == FIT:
            return wide, high
        whole = self.outer.width * self.outer.pixel_aspect / self.outer.height
        ratio = whole if self.shown == FILL else picture_shape(self.shown)
        return (wide, wide * pixel_aspect / ratio) if ratio > own else (high * ratio / pixel_aspect, high)


def placing_of(delivery: Delivery, reel: Reel) -> Placing:
    """Return how pictures of the scan of `reel` are placed in a master of `delivery`."""
    own = _shape_of(reel)
    outer = Shape(*raster_of(delivery, own.width, own.height), aspect_of(delivery, own.pixel_aspect))
    return Placing(own, outer, delivery.shape, film_of(reel), delivery.resize)


def unplaced(reel: Reel) -> Placing:
    """Return how pictures of the scan of `reel` are placed in the scan's own raster."""
    own = _shape_of(reel)
    return Placing(own, own, film=film_of(reel))


def _shape_of(reel: Reel) -> Shape:
    return Shape(reel.scan.width, reel.scan.height, Fraction(reel.scan.pixel_aspect))


def film_of(reel: Reel) -> Fraction | None:
    """Return the shape of the film's picture in the scan of `reel`; None where that is all of it."""
    return film_shape(reel.shape).ratio if reel.shape else None


def _map(
    turned: Shape,
    film: Edges,
    steps: tuple[Fraction, Fraction],
    middle: tuple[Fraction, Fraction],
    framing: Framing,
) -> tuple[Row, Row]:
    """Return the two rows of the map from the master to the turned scan; exact where nothing is turned."""
    angle = radians(framing.turn)
    cosine, sine = (cos(angle), sin(angle)) if framing.turn else (1, 0)
    aspect, size = turned.pixel_aspect, Fraction(framing.size)
    (wide, high), (u, v) = steps, middle
    across = cosine * wide / size, sine * high / (aspect * size)
    down = -sine * wide * aspect / size, cosine * high / size
    x = HALF * (film[0] + film[2]) - Fraction(framing.position_x) * turned.height / aspect
    y = HALF * (film[1] + film[3]) - Fraction(framing.position_y) * turned.height
    return (
        (*across, x - across[0] * u - across[1] * v),
        (*down, y - down[0] * u - down[1] * v),
    )


def _size(part: slice) -> int:
    return max(0, int(part.stop - part.start))


def _lit(view: View) -> Window:
    """Return the part of the window that the film's picture can reach."""
    corners = [_seen_at(view, x, y) for x in view.film[::2] for y in view.film[1::2]]
    if view.film[0] >= view.film[2] or view.film[1] >= view.film[3]:
        return slice(0, 0), slice(0, 0)
    columns, rows = ([float(corner[axis]) for corner in corners] for axis in (0, 1))
    return _meet(view.window[0], rows), _meet(view.window[1], columns)


def _meet(part: slice, places: list[float]) -> slice:
    first, last = floor(min(places) + NEAR), ceil(max(places) - NEAR)
    return slice(max(part.start, first), min(part.stop, last))


def _seen_at(view: View, x: Place, y: Place) -> tuple[Place, Place]:
    """Return where in the master a place of the turned scan is seen."""
    (a, b, c), (d, e, f) = view.across, view.down
    area = a * e - b * d
    return (e * (x - c) - b * (y - f)) / area, (a * (y - f) - d * (x - c)) / area


def _straight(picture: Picture, view: View, lit: Window, filter_name: str, weigh: Weigh) -> Picture:
    """Return the `lit` part of the master, whose lines run along those of the scan."""
    a, _, x = view.across
    _, e, y = view.down
    maps = ((1, lit[0], e, -y / e), (2, lit[1], a, -x / a))
    made = picture
    for axis, part, step, at in maps:
        wanted = range(part.start, part.stop)
        if step == 1 and abs(at - round(at)) < NEAR:
            made = _cut(made, wanted, round(at), axis)
            continue
        line = Line(made.shape[axis], wanted, float(step), float(at))
        made = weigh(_finite(made), taps(line, filter_name), axis)
    return made


def _cut(picture: Picture, wanted: range, at: int, axis: int) -> Picture:
    """Return those lines of a picture that are wanted, where it begins at number `at`."""
    part = slice(wanted.start - at, wanted.stop - at)
    return picture[:, part] if axis == 1 else picture[:, :, part]


def _finite(picture: Picture) -> Picture:
    if isfinite(float(picture.sum())):
        return picture
    # One such pixel would spread over all that reads it.
    return np.nan_to_num(picture, nan=0.0, posinf=1.0, neginf=0.0)


def _slanted(picture: Picture, view: View, lit: Window, filter_name: str, weigh: Weigh) -> Picture:
    """Return the `lit` part of the master, whose lines run aslant: columns first, then rows.

    The first pass brings each column of the scan to the rows of the master, the second each of those rows to
    its columns: both shear, and together they turn.
    """
    (a, b, c), (d, e, f) = (tuple(map(float, row)) for row in (view.across, view.down))
    v, u = _centres(lit[0]), _centres(lit[1])
    read = _columns_read(picture.shape[2], view, lit, FILTERS[filter_name].reach * max(1.0, a) + 1)
    step = e - d * b / a
    columns = slant(step * v + f - d * c / a - 0.5, d / a * _centres(read), step, filter_name)
    rows = slant(b * v, a * u + c - read.start - 0.5, a, filter_name)
    return weigh(weigh(_finite(picture[:, :, read]), columns, 1), rows, 2)


def _columns_read(width: int, view: View, lit: Window, beside: float) -> slice:
    """Return which columns of the turned scan the `lit` part is made of, and so many beside them."""
    places = [_along(view.across, *corner) for corner in _corners(lit)]
    first = min(max(0, floor(min(places) - beside)), width - 1)
    return slice(first, max(first + 1, min(width, ceil(max(places) + beside))))


def _edges(view: View, lit: Window) -> Iterator[tuple[Window, NDArray[np.float32]]]:
    """Yield the parts of the master along each edge of the film, and how much of a pixel there it covers."""
    for axis, row, low, high in ((1, view.across, *view.film[::2]), (0, view.down, *view.film[1::2])):
        steep = hypot(row[0], row[1])
        for way, edge in ((1, float(low)), (-1, float(high))):
            part = _beside_edge(row, edge + way * steep / 2, way, axis, lit)
            if all(map(_size, part)):
                within = (_along(row, _centres(part[1]), _centres(part[0])[:, None]) - edge) * way / steep
                yield part, np.asarray(np.clip(within + 0.5, 0, 1), np.float32)


def _beside_edge(row: Row, place: float, way: int, axis: int, lit: Window) -> Window:
    """Return the `lit` pixels that lie, somewhere along the other axis, short of a place in the turned scan.

    With `way` -1 those beyond it. Most of a picture is neither.
    """
    along, other = float(row[1 - axis]), float(row[axis])
    part, beside = lit[axis], lit[1 - axis]
    ends = [
        (place - float(row[2]) - other * n) / along - 0.5 for n in (beside.start + 0.5, beside.stop - 0.5)
    ]
    if way > 0:
        part = slice(part.start, min(part.stop, ceil(max(ends) - NEAR)))
    else:
        part = slice(max(part.start, floor(min(ends) + NEAR) + 1), part.stop)
    return (part, beside) if axis == 0 else (beside, part)


def _centres(part: slice) -> NDArray[np.float64]:
    return np.arange(part.start, part.stop, dtype=np.float64) + 0.5


def _corners(part: Window) -> list[tuple[float, float]]:
    """Return the corners of a part of the master, as (u, v)."""
    rows, columns = part
    return [(u, v) for u in (columns.start, columns.stop) for v in (rows.start, rows.stop)]


def _along(row: Row, u: Any, v: Any) -> Any:
    """Return what a row of the map makes of (u, v)."""
    return float(row[0]) * u + float(row[1]) * v + float(row[2])
