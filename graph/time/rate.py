"""Exact rates: film and video run at ratios of whole numbers, so nothing here is a float."""

from fractions import Fraction

from lamphouse.nodes.errors import BadInput

# Silent and projection speeds, then the video rates of SMPTE ST 12-1. The decimals that people
# write for the two NTSC rates are names for them: 23.976 is not a rate of its own.
_RATES = {
    **{str(whole): Fraction(whole) for whole in (16, 18, 20, 24, 25, 30)},
    **dict.fromkeys(("24000/1001", "23.976", "23.98"), Fraction(24000, 1001)),
    **dict.fromkeys(("30000/1001", "29.97"), Fraction(30000, 1001)),
}


def parse_rate(text: str) -> Fraction:
    """Return the exact frames per second that `text` names, such as 24000/1001, 23.976 or 25.

    Raises BadInput, with the rates there are, for any other text.
    """
    rate = _RATES.get(text.strip())
    if rate is None:
        raise BadInput(f"'{text}' is not a frame rate; there is {', '.join(_RATES)}.")
    return rate


def rate_text(rate: Fraction) -> str:
    """Return the text that stands for `rate` in a reel file: '24000/1001', '25'.

    Raises BadInput for a rate that `parse_rate` would not read back.
    """
    parse_rate(str(rate))
    return str(rate)


def nominal(rate: Fraction) -> int:
    """Return the frames that one second of timecode counts: 24 for 24000/1001, 30 for 30000/1001."""
    return round(rate)
