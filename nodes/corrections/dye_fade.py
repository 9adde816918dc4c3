"""Dye fade: each dye is given back the density that it has lost, side absorptions and all."""

from collections.abc import Mapping
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.declare import Node, Reach, Signal
from lamphouse.nodes.maths import matrix, offset
from lamphouse.nodes.parameter import Kind, Parameter
from lamphouse.nodes.values import Travel, Value

# By row red, green, blue densities and by column cyan, magenta, yellow dyes: the parameter that stands there.
SIDES: Final = (
    ("", "magenta_red", "yellow_red"),
    ("cyan_green", "", "yellow_green"),
    ("cyan_blue", "magenta_blue", ""),
)


def dye_fade(picture: Any, p: Any) -> Any:
    """(A K A^-1)^-1 (D - stain): K is the share of each dye that was kept, A what a unit of it absorbs."""
    return matrix(offset(picture, -p.stain), p.restored)


def absorptions(values: Mapping[str, Value]) -> NDArray[np.float64]:
    """Return A, 3x3: red, green, blue density (rows) of a unit of cyan, magenta, yellow dye (columns)."""
    return np.array([[float(values[name]) if name else 1.0 for name in row] for row in SIDES])  # type: ignore[arg-type]


def derive_restored(values: Mapping[str, Value]) -> dict[str, NDArray[np.float64]]:
    """Return the matrix from faded densities above the stain to those before fading."""
    given_back = 1 / np.asarray(values["kept"], np.float64)
    if (given_back == 1).all():
        return {"restored": np.eye(3)}
    dyes = absorptions(values)
    return {"restored": dyes @ np.diag(given_back) @ np.linalg.inv(dyes)}


def _side(dye: str, layer: str) -> Parameter:
    return Parameter(
        f"{dye}_{layer}",
        f"What a unit of {dye} dye absorbs of {layer}.",
        0.0,
        unit="D",
        low=0.0,
        high=0.45,  # two of these in a row stay below the dye's own 1: the matrix can always be undone
        source="side absorptions of a dye set; common practice, no source",
    )


DYE_FADE = Node(
    name="dye_fade",
    sentence="Gives a faded print back the density that each of its dyes has lost.",
    signal=Signal.DENSITY,
    reach=Reach.POINT,
    body=dye_fade,
    derive=derive_restored,
    source=(
        "proportional loss: J. Wallace, Topics in Photographic Preservation 3 (1989) 151; linear model: "
        "R. Gschwind and F. Frey, J. Imaging Sci. Technol. 38 (1994) 520, from memory"
    ),
    parameters=(
        Parameter(
            "kept",
            "Share of each dye that is left.",
            (1.0, 1.0, 1.0),
            kind=Kind.TRIPLE,
            parts=("cyan", "magenta", "yellow"),
            low=0.1,
            high=2.0,
            travel=Travel.LOG,
        ),
        Parameter(
            "stain",
            "Density that has come in all over, in red, green and blue.",
            (0.0, 0.0, 0.0),
            kind=Kind.TRIPLE,
            unit="D",
            low=-0.5,
            high=1.0,
            step=0.002,
        ),
        *(
            _side(*pair)
            for pair in (
                ("cyan", "green"),
                ("cyan", "blue"),
                ("magenta", "red"),
                ("magenta", "blue"),
                ("yellow", "red"),
                ("yellow", "green"),
            )
        ),
    ),
)
