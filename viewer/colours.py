"""The desk's colours: grey without a tint, one accent, and the three channels.

Surround and panels are equal in R, G and B, so that nothing at the edge of sight shifts what the eye takes
for white. The accent is a dull blue: skin, skies at dusk and clipped whites are never that colour, and it
stays apart from grey for every kind of colour vision. Red, green and blue appear only where they name a
channel.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

Colour = tuple[float, float, float, float]


def grey(code: int, alpha: float = 1.0) -> Colour:
    """Return a grey of the monitor's code, 0 to 255."""
    return (code / 255, code / 255, code / 255, alpha)


def over(colour: Colour, alpha: float, ground: Colour) -> Colour:
    """Return what is seen where a colour lies over a ground, as ImGui blends them: in the monitor's codes."""
    r, g, b = (alpha * c + (1 - alpha) * below for c, below in zip(colour[:3], ground[:3], strict=True))
    return (r, g, b, 1.0)


SURROUND_CODE: Final = 0x1B
SURROUND: Final = grey(SURROUND_CODE)
PANEL: Final = grey(0x24)
CLEAR: Final = grey(0, 0.0)  # what lies below is seen, and nothing is drawn
FIELD: Final = grey(0x31)
FIELD_OVER: Final = grey(0x3D)
LINE: Final = grey(0x4A)  # parts things, and means nothing by itself
EDGE: Final = grey(0x80)  # of what can be taken hold of
QUIET: Final = grey(0xA8)
TEXT: Final = grey(0xD2)
BRIGHT: Final = grey(0xF0)
ACCENT: Final = (0.50, 0.68, 0.88, 1.0)
CHANNELS: Final = ((0.94, 0.55, 0.52, 1.0), (0.40, 0.74, 0.42, 1.0), (0.53, 0.67, 1.0, 1.0))
SELECTED: Final = 0.25  # of the accent, over what is selected
PLATE: Final = 0.8  # of the surround at least, under what is written over a picture

# What is read, and what is seen of a control, on every ground that it has: the tests hold these to WCAG 2.2.
GROUNDS: Final = (SURROUND, PANEL, FIELD, FIELD_OVER)
ON_PICTURE: Final = over(SURROUND, PLATE, grey(0xFF))  # at its worst
READ: Final[Mapping[Colour, tuple[Colour, ...]]] = {
    QUIET: GROUNDS,
    ACCENT: GROUNDS,
    **dict.fromkeys(CHANNELS, GROUNDS),
    TEXT: (*GROUNDS, LINE, ON_PICTURE, over(ACCENT, SELECTED, FIELD_OVER)),
    BRIGHT: (*GROUNDS, LINE, ON_PICTURE),
}
CONTROLS: Final[Mapping[Colour, tuple[Colour, ...]]] = {
    EDGE: (SURROUND, PANEL, FIELD),
    QUIET: GROUNDS,
    ACCENT: GROUNDS,  # also the ring about what has the keyboard
    TEXT: GROUNDS,
    BRIGHT: GROUNDS,
}
