"""Record timecode after SMPTE ST 12-1: an address for each frame of a day.

Drop-frame counting belongs to 30000/1001 and 60000/1001, where a person may choose it, and to nothing else.
It leaves out frame numbers, never pictures, so that the address keeps step with the clock. Silent speeds (16,
18, 20 ...) are outside the standard; they count the same way, without drop.
The text of the standard was not read: the rules are checked against open libraries.
"""

import re
from fractions import Fraction
from typing import Final

from lamphouse.graph.time.rate import nominal
from lamphouse.nodes.errors import BadInput

# Frame numbers left out at the start of a minute, except every tenth.
_DROPPED: Final = {Fraction(30000, 1001): 2, Fraction(60000, 1001): 4}
_WRITTEN = re.compile(r"([0-9]{1,2}):([0-9]{1,2}):([0-9]{1,2})([:;])([0-9]{1,3})")


def can_drop(rate: Fraction) -> bool:
    """Say whether there is drop-frame counting at `rate`."""
    return rate in _DROPPED


def frames_per_day(rate: Fraction, *, drops: bool = True) -> int:
    """Return how many frames have an address of their own: 2 589 408 at 30000/1001 with drop-frame."""
    return 24 * 3600 * nominal(rate) - 24 * 6 * 9 * _dropped(rate, drops)


def timecode(frame: int, rate: Fraction, *, drops: bool = True) -> str:
    """Return the address of `frame`, counted from 0 at 00:00:00:00, modulo 24 hours.

    Drop-frame addresses have ';' before the frames, HH:MM:SS;FF: at a rate that has them, where it `drops`.
    """
    number, dropped = frame % frames_per_day(rate, drops=drops), _dropped(rate, drops)
    number += _dropped_before(number, nominal(rate), dropped)
    seconds, frames = divmod(number, nominal(rate))
    minutes, second = divmod(seconds, 60)
    hour, minute = divmod(minutes, 60)
    mark = ";" if dropped else ":"
    return f"{hour:02}:{minute:02}:{second:02}{mark}{frames:02}"


def frame_of_timecode(text: str, rate: Fraction, *, drops: bool = True) -> int:
    """Return the frame, from 0 at 00:00:00:00, that the address `text` names.

    Where the counting drops people type ':' or ';' before the frames: both mean drop-frame there. Where it
    does not ';' is refused. Raises BadInput for what is not an address, and for one that is left out.
    """
    dropped = _dropped(rate, drops)
    hour, minute, second, frames = _fields(text, rate, drops=drops)
    minutes = 60 * hour + minute
    number = (60 * minutes + second) * nominal(rate) + frames
    if minute % 10 and second == 0 and frames < dropped:
        legal = f"{hour:02}:{minute:02}:00;{dropped:02}"
        raise BadInput(f"Drop-frame timecode leaves out {text.strip()}; the next address is {legal}.")
    return number - dropped * (minutes - minutes // 10)


def as_counted(text: str, rate: Fraction, other: Fraction, *, drops: bool, other_drops: bool) -> str:
    """Return the address `text`, at `rate`, as it reads where `other` frames are counted a second.

    Hours, minutes and seconds stay; frames become the same part of a second.
    """
    hour, minute, second, frames = _fields(text, rate, drops=drops)
    moved = frames * nominal(other) // nominal(rate)
    dropped = _dropped(other, other_drops)
    if minute % 10 and second == 0:
        moved = max(moved, dropped)  # the first that is not left out
    return f"{hour:02}:{minute:02}:{second:02}{';' if dropped else ':'}{moved:02}"


def _dropped(rate: Fraction, drops: bool) -> int:
    return _DROPPED.get(rate, 0) if drops else 0


def _dropped_before(frame: int, second: int, dropped: int) -> int:
    """Return how many frame numbers drop-frame has left out up to `frame` of a day."""
    minute = 60 * second - dropped  # frames of a minute that drops
    tens, rest = divmod(frame, 10 * minute + dropped)
    return dropped * (9 * tens + max(0, rest - dropped) // minute)


def _fields(text: str, rate: Fraction, *, drops: bool) -> tuple[int, int, int, int]:
    written = _WRITTEN.fullmatch(text.strip())
    if written is None:
        raise BadInput(f"'{text}' is not a timecode; write HH:MM:SS:FF, such as {timecode(0, rate)}.")
    if written[4] == ";" and not _dropped(rate, drops):
        where = "which this reel does not count in" if can_drop(rate) else "which only 29.97 and 59.94 have"
        raise BadInput(f"'{text}' has the ';' of drop-frame, {where}; write ':' instead.")
    hour, minute, second, frames = (int(written[part]) for part in (1, 2, 3, 5))
    limits = (("hours", hour, 24), ("minutes", minute, 60), ("seconds", second, 60))
    for unit, value, end in (*limits, (f"frames at {rate} a second", frames, nominal(rate))):
        if value >= end:
            raise BadInput(f"'{text}' cannot have {value:02} {unit}; they run from 00 to {end - 1}.")
    return hour, minute, second, frames
