"""How large what people bring may be, where it becomes memory or time: lengths, rasters, aspects, rates.

Far above what film and video have, and far below what a processor or its memory is lost in.
"""

import re
from fractions import Fraction
from typing import Annotated, Final

from msgspec import Meta

from lamphouse.nodes.errors import BadInput

FRAMES: Final = 24 * 3600 * 30  # a day at 30 frames a second: beyond it two frames share a timecode
SIDE: Final = 16384  # pixels; 65 mm film is scanned at about 11,000
PIXELS: Final = SIDE * SIDE // 2  # 1.5 GiB as three channels of float32
SOUND_RATES: Final = (1000, 768_000)  # samples a second
LEAST_ASPECT: Final = Fraction(1, 4)
MOST_ASPECT: Final = Fraction(4)
WORDS: Final = 10_000  # characters of what a client calls a reel
FIT: Final = "fit"  # shapes of a delivery that are no ratio: all of the film's picture
FILL: Final = "fill"  # as much of it as fills the raster

Count = Annotated[int, Meta(ge=0, le=FRAMES)]  # of frames
Length = Annotated[int, Meta(ge=1, le=FRAMES)]  # of something that has a first frame
Frame = Annotated[int, Meta(ge=-FRAMES, le=FRAMES)]  # a place, which may lie before the zero
Side = Annotated[int, Meta(ge=1, le=SIDE)]
SoundRate = Annotated[int, Meta(ge=SOUND_RATES[0], le=SOUND_RATES[1])]

_SIDE: Final = re.compile(r"(?=[0-9.]*[1-9])[0-9]{1,5}(\.[0-9]{1,5})?")
_SECONDS: Final = re.compile(r"-?[0-9]{1,12}(/[0-9]{1,9})?")
MOST_SECONDS: Final = 24 * 3600
_ASPECT: Final = re.compile(r"[0-9]{1,9}(/[0-9]{1,9}|\.[0-9]{1,9})?")


def pixel_aspect(text: str) -> Fraction:
    """Return the width of a pixel for its height that `text` names, such as 12/11. Raises BadInput."""
    written = _ASPECT.fullmatch(text)
    try:
        aspect = Fraction(text) if written else Fraction(0)
    except ZeroDivisionError:
        aspect = Fraction(0)
    if not is_aspect(aspect):
        raise BadInput(
            f"The pixel aspect {text[:40]} is not a ratio such as 12/11, "
            f"from {LEAST_ASPECT} to {MOST_ASPECT}."
        )
    return aspect


def picture_shape(text: str) -> Fraction:
    """Return the width of a picture for its height that `text` names: 4:3, 1.85. Raises BadInput."""
    wide, _, high = text.partition(":")
    written = all(_SIDE.fullmatch(side) for side in (wide, high or "1"))
    shape = Fraction(wide) / Fraction(high or "1") if written else Fraction(0)
    if not is_aspect(shape):
        raise BadInput(
            f"{text[:40]} is not the shape of a picture; give its width to its height, such as 4:3 or 1.85, "
            f"from {LEAST_ASPECT} to {MOST_ASPECT}."
        )
    return shape


def delivered_shape(text: str) -> str:
    """Return `text` where it says what is seen of a picture: fit, fill or a shape. Raises BadInput."""
    if text not in (FIT, FILL):
        picture_shape(text)
    return text


def exact_seconds(text: str) -> Fraction:
    """Return the seconds that `text` names as a whole number or a ratio, such as -1/80. Raises BadInput."""
    written = _SECONDS.fullmatch(text)
    try:
        seconds = Fraction(text) if written else None
    except ZeroDivisionError:
        seconds = None
    if seconds is None or abs(seconds) > MOST_SECONDS:
        raise BadInput(f"The offset {text[:40]} is not an exact number of seconds of a day, such as -1/80.")
    return seconds


def is_aspect(aspect: Fraction) -> bool:
    """Say whether pixels can be so wide for their height."""
    return LEAST_ASPECT <= aspect <= MOST_ASPECT


def check_raster(width: int, height: int, what: str) -> None:
    """Raise BadInput, beginning with `what`, for a picture that would take all memory."""
    if not (1 <= width <= SIDE and 1 <= height <= SIDE and width * height <= PIXELS):
        raise BadInput(
            f"{what} is {width}x{height}; up to {SIDE} pixels a side and {PIXELS} in all can be handled."
        )


def check_sound_rate(rate: int, what: str) -> None:
    """Raise BadInput, beginning with `what`, for a rate that no sound has."""
    if not SOUND_RATES[0] <= rate <= SOUND_RATES[1]:
        raise BadInput(
            f"{what} says {rate} samples a second; from {SOUND_RATES[0]} to {SOUND_RATES[1]} can be read."
        )
