"""Where the sound lies beside the film: moved, and put where a known place of it belongs.

Later is plus: at +26 frames the first sample plays with frame 26 of the film. Seconds and samples are those
of the sound as it was recorded.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal, get_args

import msgspec

from lamphouse.graph.reel.limits import FRAMES, MOST_SECONDS, exact_seconds
from lamphouse.graph.reel.records import Reel, SoundRef
from lamphouse.graph.reel.sound_place import sound_place
from lamphouse.graph.time.rate import parse_rate, rate_text
from lamphouse.nodes.errors import BadInput

Track = Literal["optical", "magnetic"]

# How many frames nearer the head than its picture a sound track lies on a print, for a sound that was taken
# off the film frame by frame beside the pictures: so much later it plays. 35 mm magnetic sound lies after its
# picture. From memory of SMPTE and ISO practice, not looked up there; 35 mm optical prints made for a
# projector's own distance are at 20 (NFSA preservation glossary, "printer sync": 19.5).
ADVANCES: Final[dict[str, dict[Track, int]]] = {
    "35mm": {"optical": 21, "magnetic": -28},
    "16mm": {"optical": 26, "magnetic": 28},
    "super8": {"magnetic": 18},
    "8mm": {"magnetic": 56},
}
_TERM: Final = re.compile(r"\s*([+-]?)\s*([0-9]{1,9}(?:\.[0-9]{1,9})?)\s*(frames?|f|ms|samples?)(?![a-z])")


@dataclass(frozen=True, slots=True)
class Offset:
    """Whole frames of the film, and seconds of the sound, by which it begins later than the film."""

    frames: int = 0
    seconds: Fraction = Fraction(0)


def parse_offset(text: str, gauge: str, hertz: int) -> Offset:
    """Return what `text` says: `-26f`, `+12.5ms`, `300 samples`, several of them, `optical` or `magnetic`.

    `hertz` is the sound's own rate. Raises BadInput for any other text.
    """
    if text.strip() in get_args(Track):
        return Offset(advance(gauge, text.strip()))  # type: ignore[arg-type]  # it is one of them
    frames, seconds, rest = Fraction(0), Fraction(0), text
    while rest.strip() and (term := _TERM.match(rest)):
        sign, number, unit = term.groups()
        amount = Fraction(number) * (-1 if sign == "-" else 1)
        if unit.startswith("f"):
            frames += amount
        else:
            seconds += amount / (1000 if unit == "ms" else hertz)
        rest = rest[term.end() :]
    if rest.strip() or not text.strip() or frames.denominator != 1:
        raise BadInput(
            f"'{text}' is not an offset of sound; write whole frames, milliseconds or samples, such as -26f, "
            "+12.5ms, '300 samples', or optical or magnetic for the advance of that gauge."
        )
    return Offset(int(frames), seconds)


def advance(gauge: str, track: Track) -> int:
    """Return how many frames later a sound plays that was taken off the film. Raises BadInput."""
    known = ADVANCES.get(gauge, {}).get(track)
    if known is None:
        raise BadInput(
            f"No advance of {track} sound on {gauge} film is known here; give it in frames, such as +26f."
        )
    return known


def with_offset(reel: Reel, offset: Offset) -> Reel:
    """Return the reel with its sound so far from the beginning of the film. Raises BadInput."""
    if abs(offset.frames) > FRAMES or abs(offset.seconds) > MOST_SECONDS:
        raise BadInput("A sound begins at most a day before or after its film; give a smaller offset.")
    return _with(reel, starts_at=offset.frames, offset=str(offset.seconds))


def moved(reel: Reel, frames: int = 0, seconds: Fraction = Fraction(0)) -> Reel:
    """Return the reel with its sound moved, later where these are positive. Raises BadInput."""
    now = offset_of(_sound(reel))
    return with_offset(reel, Offset(now.frames + frames, now.seconds + seconds))


def with_place_at(reel: Reel, seconds: Fraction, frame: int) -> Reel:
    """Return the reel with what sounds after `seconds` of its sound at the beginning of `frame`."""
    recorded = recorded_rate(reel)
    begins = frame - seconds * recorded
    return with_offset(reel, Offset(round(begins), (begins - round(begins)) / recorded))


def with_rate(reel: Reel, rate: str) -> Reel:
    """Return the reel with sound that was recorded at so many film frames a second. Raises BadInput."""
    return _with(reel, rate=rate_text(parse_rate(rate)))


def recorded_rate(reel: Reel) -> Fraction:
    """Return the film frames a second at which the sound was recorded. Raises BadInput for none."""
    _sound(reel)
    place = sound_place(reel)
    assert place is not None
    return place.recorded


def offset_of(ref: SoundRef) -> Offset:
    """Return how far from the beginning of the film a sound is."""
    return Offset(ref.starts_at, exact_seconds(ref.offset))


def offset_text(ref: SoundRef) -> str:
    """Return how a sound begins, in words: `with frame 26`, `12.5 ms after frame 0`."""
    offset = offset_of(ref)
    if not offset.seconds:
        return f"with frame {offset.frames}"
    milliseconds = f"{float(abs(offset.seconds) * 1000):.6g} ms"
    return f"{milliseconds} {'after' if offset.seconds > 0 else 'before'} frame {offset.frames}"


def _sound(reel: Reel) -> SoundRef:
    if reel.sound is None:
        raise BadInput("This reel has no sound; give it one with `lamphouse reel REEL --sound PATH`.")
    return reel.sound


def _with(reel: Reel, **changes: object) -> Reel:
    return msgspec.structs.replace(reel, sound=msgspec.structs.replace(_sound(reel), **changes))
