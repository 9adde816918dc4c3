"""Exact rates: film and video run at ratios of whole numbers, so nothing here is a float."""

import re
from fractions import Fraction
from typing import Final

from lamphouse.nodes.errors import BadInput

# The decimals that people write for the NTSC rates are names for them: 23.976 is not a rate of its own.
_NAMES: Final = {
    **dict.fromkeys(("23.976", "23.98"), Fraction(24000, 1001)),
    "29.97": Fraction(30000, 1001),
    "47.952": Fraction(48000, 1001),
    "59.94": Fraction(60000, 1001),
}
# Of deliveries: SMPTE ST 12-1 and ST 12-3 count these (from memory).
VIDEO_RATES: Final = (
    *(Fraction(1000 * whole, 1001) for whole in (24, 30, 60)),
    *(Fraction(whole) for whole in (24, 25, 30, 48, 50, 60)),
)
# Hand-cranked film ran at about 14; beyond 120 nothing here was ever tried.
LEAST: Final = Fraction(1)
MOST: Final = Fraction(120)
_WRITTEN: Final = re.compile(r"(?:([0-9]{1,3}) )?([0-9]{1,6})(?:/([0-9]{1,4})|\.([0-9]{1,3}))?")
_EXACT: Final = 8  # a decimal is taken as it is where it is a whole number of eighths: 12.5, 16.625


def parse_rate(text: str) -> Fraction:
    """Return the exact frames per second that `text` names: 24000/1001, 23.976, 25, 50/3 or 16 2/3.

    Raises BadInput for any other text.
    """
    rate = _NAMES.get(text.strip()) or _written(text.strip())
    if rate is None or not LEAST <= rate <= MOST:
        raise BadInput(
            f"'{text}' is not a frame rate; write frames a second from {LEAST} to {MOST}, such as 18, "
            "23.976, 30000/1001 or 16 2/3."
        )
    return rate


def _written(text: str) -> Fraction | None:
    written = _WRITTEN.fullmatch(text)
    if written is None:
        return None
    whole, number, divisor, decimals = written.groups()
    if divisor is not None and int(divisor):
        return int(whole or 0) + Fraction(int(number), int(divisor))
    if whole or divisor:
        return None
    rate = Fraction(f"{number}.{decimals or 0}")
    return rate if _EXACT % rate.denominator == 0 else None


def video_rate(text: str) -> Fraction:
    """Return the exact frames per second of a delivery. Raises BadInput for what no video runs at."""
    rate = parse_rate(text)
    if rate not in VIDEO_RATES:
        known = ", ".join(map(rate_words, sorted(VIDEO_RATES)))
        raise BadInput(f"No video runs at {text} frames a second; a delivery has {known}.")
    return rate


def rate_text(rate: Fraction) -> str:
    """Return the text that stands for `rate` in a reel file: '24000/1001', '25'.

    Raises BadInput for a rate that `parse_rate` would not read back.
    """
    parse_rate(str(rate))
    return str(rate)


def rate_words(rate: Fraction) -> str:
    """Return what people call a rate: 59.94 for 60000/1001, 25 for 25."""
    return f"{float(rate):.5g}"


def nominal(rate: Fraction) -> int:
    """Return the frames that one second of timecode counts: 24 for 24000/1001, 30 for 30000/1001."""
    return round(rate)
