"""Record timecode after SMPTE ST 12-1: an address for each frame of a day.

Drop-frame counting belongs to 30000/1001 and to nothing else. It leaves out frame
numbers, never pictures, so that the address keeps step with the clock. Silent
speeds (16, 18, 20) are outside the standard; they count the same way, without drop.
The text of the standard was not read: the rules are checked against open libraries.
"""

import re
from fractions import Fraction

from lamphouse.graph.time.rate import nominal
from lamphouse.nodes.errors import BadInput

_DROP_RATE = Fraction(30000, 1001)
_DROPPED = 2  # frame numbers left out at the start of a minute, except every tenth
_WRITTEN = re.compile(r"([0-9]{1,2}):([0-9]{1,2}):([0-9]{1,2})([:;])([0-9]{1,3})")


def frames_per_day(rate: Fraction) -> int:
    """Return how many frames have an address of their own: 2 589 408 at 30000/1001."""
    dropped = 24 * 6 * 9 * _DROPPED if rate == _DROP_RATE else 0
    return 24 * 3600 * nominal(rate) - dropped


def timecode(frame: int, rate: Fraction) -> str:
    """Return the address of `frame`, counted from 0 at 00:00:00:00, modulo 24 hours.

    Drop-frame addresses, at 30000/1001, have ';' before the frames: HH:MM:SS;FF.
    """
    number = frame % frames_per_day(rate)
    if rate == _DROP_RATE:
        number += _dropped_before(number)
    seconds, frames = divmod(number, nominal(rate))
    minutes, second = divmod(seconds, 60)
    hour, minute = divmod(minutes, 60)
    mark = ";" if rate == _DROP_RATE else ":"
    return f"{hour:02}:{minute:02}:{second:02}{mark}{frames:02}"


def frame_of_timecode(text: str, rate: Fraction) -> int:
    """Return the frame, from 0 at 00:00:00:00, that the address `text` names.

    At 30000/1001 people type ':' or ';' before the frames: both mean drop-frame here.
    At every other rate ';' is refused, because drop-frame does not exist there.
    Raises BadInput for what is not an address, and for one that drop-frame leaves out.
    """
    hour, minute, second, frames = _fields(text, rate)
    minutes = 60 * hour + minute
    number = (60 * minutes + second) * nominal(rate) + frames
    if rate != _DROP_RATE:
        return number
    if minute % 10 and second == 0 and frames < _DROPPED:
        legal = f"{hour:02}:{minute:02}:00;{_DROPPED:02}"
        raise BadInput(f"Drop-frame timecode leaves out {text.strip()}; the next address is {legal}.")
    return number - _DROPPED * (minutes - minutes // 10)


def _dropped_before(frame: int) -> int:
    """Return how many frame numbers drop-frame has left out up to `frame` of a day."""
    minute = 60 * nominal(_DROP_RATE) - _DROPPED  # frames of a minute that drops
    tens, rest = divmod(frame, 10 * minute + _DROPPED)
    return _DROPPED * (9 * tens + max(0, rest - _DROPPED) // minute)


def _fields(text: str, rate: Fraction) -> tuple[int, int, int, int]:
    written = _WRITTEN.fullmatch(text.strip())
    if written is None:
        raise BadInput(f"'{text}' is not a timecode; write HH:MM:SS:FF, such as {timecode(0, rate)}.")
    if written[4] == ";" and rate != _DROP_RATE:
        raise BadInput(f"'{text}' has the ';' of drop-frame, which only 30000/1001 has; write ':' instead.")
    hour, minute, second, frames = (int(written[part]) for part in (1, 2, 3, 5))
    limits = (("hours", hour, 24), ("minutes", minute, 60), ("seconds", second, 60))
    for unit, value, end in (*limits, (f"frames at {rate} a second", frames, nominal(rate))):
        if value >= end:
            raise BadInput(f"'{text}' cannot have {value:02} {unit}; they run from 00 to {end - 1}.")
    return hour, minute, second, frames
