"""The desk's colours: grey without a tint, one accent, and the three channels.

Surround and panels are equal in R, G and B, so that nothing at the edge of sight shifts what the eye takes
for white. The accent is a dull blue: skin, skies at dusk and clipped whites are never that colour, and it
stays apart from grey for every kind of colour vision. Red, green and blue appear only where they name a
channel.
"""

from __future__ import annotations

from typing import Final

Colour = tuple[float, float, float, float]


def grey(code: int, alpha: float = 1.0) -> Colour:
    """Return a grey of the monitor's code, 0 to 255."""
    return (code / 255, code / 255, code / 255, alpha)


SURROUND_CODE: Final = 0x1B
SURROUND: Final = grey(SURROUND_CODE)
PANEL: Final = grey(0x24)
CLEAR: Final = grey(0, 0.0)  # what lies below is seen, and nothing is drawn
FIELD: Final = grey(0x31)
FIELD_OVER: Final = grey(0x3D)
LINE: Final = grey(0x4A)
QUIET: Final = grey(0x8C)
TEXT: Final = grey(0xD2)
BRIGHT: Final = grey(0xF0)
ACCENT: Final = (0.42, 0.60, 0.80, 1.0)
CHANNELS: Final = ((0.86, 0.36, 0.34, 1.0), (0.40, 0.74, 0.42, 1.0), (0.38, 0.54, 0.94, 1.0))
