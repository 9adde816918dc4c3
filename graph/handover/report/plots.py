"""Scopes and curves as the page shows them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.grade.visibility import MARK, Visibility
from lamphouse.graph.handover.report.small_pictures import Inline, fitting
from lamphouse.graph.media.codes.ycbcr import encode_matrix
from lamphouse.graph.scopes.drawn import parade_drawn, plane_drawn
from lamphouse.graph.scopes.levels import height_of
from lamphouse.graph.scopes.parade import parade
from lamphouse.graph.scopes.region import counted
from lamphouse.graph.scopes.vectorscope import bar_targets, point_on_plane, skin_line, vectorscope, weighted

MATRIX: Final = "bt709"
CHANNELS: Final = ((0.94, 0.55, 0.52), (0.40, 0.74, 0.42), (0.53, 0.67, 1.0))
GRATICULE: Final = tuple(1 - height_of(level) for level in (0.0, 0.5, 1.0))  # from the top
BAR_SHARE: Final = 0.75
EXTREMES: Final = (1.0, 99.0)  # per cent of the pixels: what lies beyond is too little to speak of

# Columns, levels and colours from which the first is taken that has room; cells of the plane.
_PARADES: Final = ((72, 96, 32), (48, 64, 16), (24, 48, 12), (16, 32, 8))
_PLANES: Final = ((65, 16), (33, 12))


@dataclass(frozen=True, slots=True)
class Plots:
    """The scopes of one picture: parade and vectorscope, and in words from where to where its levels go."""

    parade: Inline
    plane: Inline
    levels: str


@dataclass(frozen=True, slots=True)
class Curve:
    """How visible a transition is: points of its curve, as SVG has them, and where the mark lies, 0 to 1."""

    points: str
    mark: float
    step: float
    second: float
    words: str


def plots_of(picture: NDArray[Any], most: int) -> Plots:
    """Return the scopes of a picture (3, h, w) of video signal; each has at most so many bytes."""
    luma = weighted(counted(picture).pixels, encode_matrix(MATRIX)[0])
    low, high = np.nanpercentile(luma, EXTREMES) * 100
    return Plots(
        fitting([partial(_parade, picture, *form) for form in _PARADES], most),
        fitting([partial(_plane, picture, *form) for form in _PLANES], most),
        f"{low:.0f} to {high:.0f} %",
    )


def curve_of(seen: Visibility) -> Curve:
    """Return the curve of a transition, over a unit square with 0 at its foot, and what it says."""
    top = max(1.25 * MARK, 1.1 * seen.step)
    steps = seen.steps.tolist()
    at = np.linspace(0, 1, len(steps) + 2)[1:-1] if len(steps) > 1 else [0.5]
    points = " ".join(f"{x:.4f},{1 - y / top:.4f}" for x, y in zip(at, steps, strict=True))
    return Curve(points, 1 - MARK / top, seen.step, seen.second, _curve_words(seen))


def targets() -> list[tuple[float, float]]:
    """Return where the six colours of bars stand on a plane of 0 to 1, from its left and top."""
    places = (point_on_plane(t.cb, t.cr) for t in bar_targets(MATRIX) if t.share == BAR_SHARE)
    return [(x, 1 - y) for x, y in places]


def skin() -> tuple[float, float]:
    """Return the end of the line of skin, which begins in the middle."""
    x, y = point_on_plane(*skin_line())
    return x, 1 - y


def _curve_words(seen: Visibility) -> str:
    step = (
        f"its largest step from one frame to the next is {seen.step:.2f}, {seen.second:.1f} within a second"
    )
    if seen.is_over:
        return f"It may be seen as it happens: {step}."
    return f"Nobody should see it happen: {step}."


def _parade(picture: NDArray[Any], columns: int, levels: int, colours: int) -> Any:
    return _png(parade_drawn(parade(picture, columns=columns, levels=levels), CHANNELS), colours)


def _plane(picture: NDArray[Any], size: int, colours: int) -> Any:
    return _png(plane_drawn(vectorscope(picture, MATRIX, size=size)), colours)


def _png(codes: NDArray[np.uint8], colours: int) -> Any:
    """Return codes (h, w, 4) over black, in so many colours."""
    from PIL import Image

    lit = (codes[..., :3].astype(np.uint16) * codes[..., 3:] // 255).astype(np.uint8)
    # Two means of colours keep channels apart, which the plain median runs into each other.
    few = Image.fromarray(lit).quantize(colours, kmeans=2, dither=Image.Dither.NONE)
    return few, {"format": "PNG", "optimize": True}
