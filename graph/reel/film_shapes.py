"""Shapes of the film's picture: width to height as it is seen, and how far it was squeezed on the film.

Nominal ones, as the trade names them. What a camera exposed is a little more, and no two apertures are cut
alike: so a shape lies in the middle of the scan, and each edge is trimmed by the settings of the gate.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from lamphouse.graph.reel.limits import MOST_ASPECT, picture_shape
from lamphouse.nodes.errors import BadInput, near_names


@dataclass(frozen=True, slots=True)
class FilmShape:
    """`ratio` is width to height as seen, `squeeze` how much wider that is than on the film."""

    ratio: Fraction
    squeeze: Fraction = Fraction(1)


# From memory: camera apertures in millimetres of the standards for each gauge, or the projected ratio.
SHAPES: Final[Mapping[str, FilmShape]] = {
    "silent": FilmShape(Fraction(4, 3)),  # 35 mm, the whole width between perforations: 24.9 x 18.7
    "academy": FilmShape(Fraction(11, 8)),  # 35 mm beside a sound track: 22 x 16, 1.37
    "1.66": FilmShape(Fraction(166, 100)),
    "1.85": FilmShape(Fraction(185, 100)),
    "scope": FilmShape(Fraction(239, 100), Fraction(2)),  # 35 mm, anamorphic
    "65mm": FilmShape(Fraction(220, 100)),  # five perforations high
    "28mm": FilmShape(Fraction(19, 14)),
    "16mm": FilmShape(Fraction(137, 100)),  # 10.3 x 7.5
    "super16": FilmShape(Fraction(166, 100)),  # 12.4 x 7.4
    "9.5mm": FilmShape(Fraction(85, 65)),
    "8mm": FilmShape(Fraction(4, 3)),  # 4.8 x 3.5 in the camera, 4.4 x 3.3 projected
    "super8": FilmShape(Fraction(136, 100)),  # 5.8 x 4.0 in the camera, 5.5 x 4.0 projected
}


def film_shape(text: str) -> FilmShape:
    """Return the shape of a film's picture by its name, or by its ratio. Raises BadInput with near names."""
    if text in SHAPES:
        return SHAPES[text]
    if text[:1].isdigit() and not text.endswith("mm"):
        return FilmShape(picture_shape(text))
    name = text[:40]
    raise BadInput(
        f"There is no film shape called {name}{near_names(name, SHAPES)}; give one, or a ratio such as 1.75."
    )


def usual_shape(gauge: str) -> FilmShape:
    """Return the shape that a film of that gauge most often has."""
    return SHAPES.get(gauge) or SHAPES["65mm" if gauge == "70mm" else "academy"]


def squeezed(pixel_aspect: Fraction, before: str | None, now: str | None) -> Fraction:
    """Return how wide the pixels of a scan are once its film has another shape. Raises BadInput."""
    found = pixel_aspect * _squeeze(now) / _squeeze(before)
    if found > MOST_ASPECT:
        raise BadInput(
            f"The pixels of the scan would be {found} times as wide as high; check the shape {now}."
        )
    return found


def _squeeze(name: str | None) -> Fraction:
    return film_shape(name).squeeze if name else Fraction(1)
