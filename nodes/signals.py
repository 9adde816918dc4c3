"""What the numbers of a picture stand for, and the way from each to the others.

Every signal is defined by two functions, to and from display-linear light (1 is reference
white). They are ordinary maths over the primitives, so they trace and fuse like any node.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from lamphouse.nodes.declare import Signal
from lamphouse.nodes.maths import offset, power, scale, toe_antilog, toe_log, toe_power, toe_root

# ITU-R BT.1886 (03/2011) with black at zero.
DISPLAY_GAMMA: Final = 2.4

# IEC 61966-2-1:1999: exponent, toe, slope of the straight part of the decoding, and its end.
SRGB_EXPONENT: Final = 2.4
SRGB_TOE: Final = 0.055
SRGB_SLOPE: Final = 12.92
SRGB_JOIN_ENCODED: Final = 0.04045
SRGB_JOIN_LIGHT: Final = 0.0031308

# ITU-R BT.709-6 (06/2015) clause 1.2. Its inverse joins where the straight part ends: 4.5 * 0.018.
BT709_EXPONENT: Final = 1 / 0.45
BT709_TOE: Final = 0.099
BT709_SLOPE: Final = 4.5
BT709_JOIN_LIGHT: Final = 0.018
BT709_JOIN_ENCODED: Final = BT709_SLOPE * BT709_JOIN_LIGHT

# Denser than any film (density 6). Below it, where density has no end, the curve goes straight on, so that
# what lies under black survives the way there and back.
LEAST_LIGHT: Final = 1e-6

# 10-bit printing-density scans: 0.002 density a code above code 95 (common practice with
# SMPTE ST 268-1 files; the same step and base as ADX10 in SMPTE ST 2065-3).
DENSITY_PER_CODE: Final = 0.002
DENSITY_BASE_CODE: Final = 95
TEN_BIT_TOP: Final = 1023


def light_from_density(rgb: Any) -> Any:
    """Transmittance T = 10 ** -D, straight on past density 6. Density 1.0 is 0.1."""
    return toe_antilog(scale(rgb, -1.0), LEAST_LIGHT)


def density_from_light(rgb: Any) -> Any:
    """Density D = -log10(T), straight on below a T of 1e-6. T 0.5 is 0.30103."""
    return scale(toe_log(rgb, LEAST_LIGHT), -1.0)


def light_from_video(rgb: Any) -> Any:
    """ITU-R BT.1886 with black at zero. Video 0.5 is light 0.18946457."""
    return power(rgb, DISPLAY_GAMMA)


def video_from_light(rgb: Any) -> Any:
    """The inverse of ITU-R BT.1886 with black at zero. Light 0.18946457 is video 0.5."""
    return power(rgb, 1 / DISPLAY_GAMMA)


def light_from_srgb(rgb: Any) -> Any:
    """IEC 61966-2-1. sRGB 128/255 is light 0.2158605."""
    return toe_power(rgb, SRGB_EXPONENT, SRGB_TOE, 1 / SRGB_SLOPE, SRGB_JOIN_ENCODED)


def srgb_from_light(rgb: Any) -> Any:
    """IEC 61966-2-1. Light 0.18 is sRGB 0.4613561295."""
    return toe_root(rgb, SRGB_EXPONENT, SRGB_TOE, SRGB_SLOPE, SRGB_JOIN_LIGHT)


def light_from_bt709(rgb: Any) -> Any:
    """Scene light of a BT.709 camera signal: the inverse of its OETF. V 0.4090077289 is 0.18."""
    return toe_power(rgb, BT709_EXPONENT, BT709_TOE, 1 / BT709_SLOPE, BT709_JOIN_ENCODED)


def bt709_from_light(rgb: Any) -> Any:
    """ITU-R BT.709-6 OETF. Light 0.18 is 0.4090077289."""
    return toe_root(rgb, BT709_EXPONENT, BT709_TOE, BT709_SLOPE, BT709_JOIN_LIGHT)


def density_from_scan(codes: Any) -> Any:
    """Printing density of a log scan whose 10-bit codes stand as code / 1023. Code 445 is 0.70."""
    base = DENSITY_BASE_CODE * DENSITY_PER_CODE
    return offset(scale(codes, TEN_BIT_TOP * DENSITY_PER_CODE), -base)


def scan_from_density(rgb: Any) -> Any:
    """The inverse: 10-bit codes of a log scan as code / 1023. Density 0.70 is code 445."""
    base = DENSITY_BASE_CODE * DENSITY_PER_CODE
    return scale(offset(rgb, base), 1 / (TEN_BIT_TOP * DENSITY_PER_CODE))


@dataclass(frozen=True, slots=True)
class Conversion:
    """How one signal becomes light and light becomes it."""

    sentence: str
    to_light: Callable[[Any], Any]
    from_light: Callable[[Any], Any]


def _unchanged(rgb: Any) -> Any:
    return rgb


CONVERSIONS: Final[dict[Signal, Conversion]] = {
    Signal.DENSITY: Conversion("printing density, D = -log10(T)", light_from_density, density_from_light),
    Signal.LIGHT: Conversion("display-linear light, 1 is reference white", _unchanged, _unchanged),
    Signal.VIDEO: Conversion("light ** (1 / 2.4), ITU-R BT.1886", light_from_video, video_from_light),
    Signal.SRGB: Conversion("IEC 61966-2-1", light_from_srgb, srgb_from_light),
    Signal.BT709: Conversion("ITU-R BT.709-6 camera curve", light_from_bt709, bt709_from_light),
    Signal.MATTE: Conversion("a share from 0 to 1, seen as video", light_from_video, video_from_light),
}


def convert(rgb: Any, source: Signal, target: Signal) -> Any:
    """Return `rgb` of signal `source` as signal `target`, by way of light.

    From video to sRGB is the step from a BT.1886 display to a monitor of IEC 61966-2-1, as stills and the
    desk's painter take it.
    """
    if source is target:
        return rgb
    return CONVERSIONS[target].from_light(CONVERSIONS[source].to_light(rgb))
