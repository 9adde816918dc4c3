"""Tracks on the strip: the curve of each over the film that it spans, a lane for each parameter.

One that is off moves nothing: it is a dashed line where its curve would be neutral, with the curve faint.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

import numpy as np
from imgui_bundle import ImVec2
from numpy.typing import NDArray

from lamphouse.viewer import colours
from lamphouse.viewer.models.tracks import Curve, Point, TracksView
from lamphouse.viewer.panels.draw import box, path
from lamphouse.viewer.panels.proposal_shapes import dashed
from lamphouse.viewer.panels.strip_cues import FLAG
from lamphouse.viewer.panels.strip_marks import BAND, TALL
from lamphouse.viewer.panels.strip_ruler import Ruler

LANE: Final = 20.0  # pixels of height at most
NARROW: Final = 4.0  # pixels across, below which a curve is no more than how far it goes
FAINT: Final = 0.55
REACH: Final = 0.42  # of a lane's height, to either side
Heights = NDArray[np.float64]


class Lanes:
    """Where the curves of a strip lie: between the band of soft shots and the marks, the first lowest."""

    def __init__(self, ruler: Ruler, curves: Iterable[Curve], scale: float) -> None:
        count = max((curve.lane for curve in curves), default=0) + 1
        self.bottom = ruler.bottom - TALL * scale
        self.tall = min(LANE * scale, (self.bottom - ruler.top - (FLAG + BAND) * scale) / count)

    def middle(self, curve: Curve) -> float:
        """Return the pixel at which a curve is neutral."""
        return self.bottom - (curve.lane + 0.5) * self.tall

    def y(self, curve: Curve, heights: Heights) -> Heights:
        """Return the pixels of heights, -1 to 1."""
        return self.middle(curve) - REACH * self.tall * heights


def draw_tracks(ruler: Ruler, held: TracksView, curves: tuple[Curve, ...], scale: float) -> None:
    """Draw what the strip spans of the curves."""
    lanes, (start, stop) = Lanes(ruler, curves, scale), ruler.view.span
    placed = (start, stop, ruler.left, ruler.top, ruler.width, ruler.height)
    if held.placed != placed:  # for hundreds this takes longer than to draw them
        seen = (curve for curve in curves if curve.track.frame < stop and curve.track.stop > start)
        held.corners = tuple((curve, corners(ruler, lanes, curve)) for curve in seen)
        held.placed = placed
    for curve, points in held.corners:
        _draw(ruler, lanes.middle(curve), curve, points, scale)


def tracks_under(ruler: Ruler, curves: Sequence[Curve], mouse: ImVec2, scale: float) -> list[Curve]:
    """Return the curves at the pointer."""
    lanes, at = Lanes(ruler, curves, scale), ruler.exact(mouse.x)
    return [
        curve
        for curve in curves
        if curve.track.frame <= at < curve.track.stop and abs(mouse.y - lanes.middle(curve)) <= lanes.tall / 2
    ]


def _draw(ruler: Ruler, middle: float, curve: Curve, points: list[Point], scale: float) -> None:
    left, right = ruler.x(curve.track.frame), ruler.x(curve.track.stop)
    colour = colours.BRIGHT if curve.track.is_on else (*colours.QUIET[:3], FAINT)
    if right - left < NARROW * scale:
        low, high = min(y for _, y in points), max(y for _, y in points)
        box((left, low - scale), (max(right - 1, left + 1), high + scale), colour)
    elif curve.track.is_on:
        path(points, colour, 1.5 * scale, 4 * scale)
    else:
        path(points, colour, scale)
        ends = max(left, ruler.left), min(right, ruler.left + ruler.width)
        dashed((ends[0], middle), (ends[1], middle), colours.QUIET, scale, is_sure=True)


def corners(ruler: Ruler, lanes: Lanes, curve: Curve) -> list[Point]:
    """Return the corners of a curve as far as it is seen: in a column of pixels at most its extremes."""
    (start, stop), frames = ruler.view.span, curve.frames
    first = max(0, int(np.searchsorted(frames, start)) - 1)
    last = int(np.searchsorted(frames, stop)) + 1
    x = ruler.x(0.5) + frames[first:last] / ruler.per_pixel
    y = lanes.y(curve, curve.heights[first:last])
    begins = np.flatnonzero(np.diff(np.floor(x), prepend=-np.inf))
    if len(begins) < len(x):
        x = np.repeat(x[begins], 2)
        y = np.stack([np.minimum.reduceat(y, begins), np.maximum.reduceat(y, begins)], axis=1).ravel()
        is_new = np.append(True, (np.diff(x) != 0) | (np.diff(y) != 0))
        x, y = x[is_new], y[is_new]
    return list(zip(x.tolist(), y.tolist(), strict=True))
