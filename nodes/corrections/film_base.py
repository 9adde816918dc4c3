"""Film base: what the film itself weighs is taken off, and a negative becomes a positive."""

from typing import Any, Final

from lamphouse.nodes.declare import Node, Reach, Signal
from lamphouse.nodes.maths import offset, scale
from lamphouse.nodes.parameter import Kind, Parameter
from lamphouse.nodes.tonal_range import TonalRange
from lamphouse.nodes.values import Travel

# Reference white of a printing-density scan is code 685, density 1.18 above code 95; over a film gamma of 0.6
# (common practice with SMPTE ST 268-1 files) that is this much log exposure above base.
WHITE: Final = 1.18 / 0.6


def film_base(picture: Any, p: Any) -> Any:
    """Log exposure (D - base) / gamma, printed at `contrast`: from white down for a negative."""
    exposed = scale(offset(picture, -p.base), p.contrast / p.gamma)
    if p.film == "positive":
        return exposed
    return offset(scale(exposed, -1.0), p.contrast * p.white)


FILM_BASE = Node(
    name="film_base",
    sentence="Takes off the density of the film's base; prints a negative to a stated contrast.",
    signal=Signal.DENSITY,
    reach=Reach.POINT,
    body=film_base,
    source="our own model: a straight characteristic curve of slope gamma = dD / d log E, from memory",
    parameters=(
        Parameter(
            "film",
            "What the film is.",
            "positive",
            kind=Kind.CHOICE,
            choices=("positive", "negative"),
            travel=Travel.STEP,
        ),
        Parameter(
            "base",
            "Density of the unexposed film, in each channel.",
            (0.0, 0.0, 0.0),
            kind=Kind.TRIPLE,
            unit="D",
            low=-0.5,
            high=2.0,
            step=0.002,
            source="one code of a printing-density scan is 0.002",
        ),
        Parameter(
            "gamma",
            "Slope of the film's curve in each channel: how much density a unit of log exposure made.",
            (1.0, 1.0, 1.0),
            kind=Kind.TRIPLE,
            low=0.3,
            high=4.0,
            travel=Travel.LOG,
            source="camera negatives 0.55 to 0.65, prints 2.5 to 3, second-hand",
            acts_on=TonalRange.MIDDLE,
        ),
        Parameter(
            "contrast",
            "Contrast from scene to screen: 1 is the scene's own light, 1.5 about that of a print.",
            1.0,
            low=0.3,
            high=4.0,
            travel=Travel.LOG,
            source="film gamma times print gamma, common practice",
            acts_on=TonalRange.MIDDLE,
        ),
        Parameter(
            "white",
            "Log exposure above base that becomes white, 0.3 a stop at the lens; of a negative alone.",
            WHITE,
            unit="log E",
            low=0.2,
            high=4.0,
            source="density 1.18 above base over gamma 0.6, common practice",
        ),
    ),
)
