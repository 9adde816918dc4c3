"""Framing: where the film's picture lies in the frame that is delivered. Declared as a node is, and none.

It is the same for every reel and stands beside its chain: no wire reaches it, for there is one picture that
leaves, and it is moved once, after all that is done to its colours. So what depends on the place in the
picture, a matte or a patch, stays where the film is.
"""

from typing import Final

from lamphouse.nodes.parameter import Kind, Parameter
from lamphouse.nodes.values import Travel

FRAMING: Final = "framing"  # what its settings are called: `framing.size`
SENTENCE: Final = (
    "Where the film's picture lies in the frame: moved, sized, turned, mirrored, its edges blanked."
)
QUARTERS: Final = ("0", "90", "180", "270")
UNMIRRORED: Final = "no"
ACROSS: Final = "left-right"
DOWN: Final = "top-bottom"


def _position(name: str, way: str) -> Parameter:
    sentence = (
        f"Moves the picture {way} in the frame, before it is sized and turned about the frame's middle."
    )
    return Parameter(
        name, sentence, 0.0, unit="picture heights", low=-1.0, high=1.0, step=0.001, source="our choice"
    )


def _gate(edge: str) -> Parameter:
    sentence = f"What is blanked at the {edge} of the film's picture as it was scanned; it is black there."
    return Parameter(
        f"gate_{edge}",
        sentence,
        0.0,
        unit="picture heights",
        low=0.0,
        high=1.0,
        step=0.001,
        source="our choice",
    )


PARAMETERS: Final = (
    _position("position_x", "right"),
    _position("position_y", "down"),
    Parameter(
        "size",
        "Its size in the frame, about the frame's middle.",
        1.0,
        low=0.1,
        high=10.0,
        step=0.001,
        travel=Travel.LOG,
        source="our choice",
    ),
    Parameter(
        "turn",
        "Turns it clockwise about the frame's middle, as to level a horizon.",
        0.0,
        unit="degrees",
        low=-15.0,
        high=15.0,
        step=0.05,
        source="our choice",
    ),
    Parameter(
        "quarter_turns",
        "Turns it clockwise by whole quarters, in degrees, and exactly.",
        QUARTERS[0],
        kind=Kind.CHOICE,
        choices=QUARTERS,
        travel=Travel.STEP,
        source="the four there are",
    ),
    Parameter(
        "mirror",
        "Mirrors it, as film that was threaded the wrong way round, before the quarter turns.",
        UNMIRRORED,
        kind=Kind.CHOICE,
        choices=(UNMIRRORED, ACROSS, DOWN),
        travel=Travel.STEP,
        source="the two there are",
    ),
    _gate("left"),
    _gate("right"),
    _gate("top"),
    _gate("bottom"),
)
