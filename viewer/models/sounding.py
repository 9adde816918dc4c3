"""What a hand does with the place of the sound beside the film: moved, typed, its sync pip put on a frame."""

from __future__ import annotations

from fractions import Fraction
from math import floor
from typing import Final

from lamphouse.graph.edits.sound import (
    Offset,
    Track,
    advance,
    moved,
    parse_offset,
    with_offset,
    with_place_at,
)
from lamphouse.graph.media.sound.facts import sound_facts
from lamphouse.graph.reel.sound_place import sound_place
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.preferences import Preferred

SOFTEST, LOUDEST = -60.0, 12.0  # decibels of what is played (our choice)
STEP: Final = 2.0  # decibels (our choice)
MILLISECOND: Final = Fraction(1, 1000)
NO_PIP: Final = "No sync pip was found in the first two minutes of the sound; move the sound by hand."


def louder(preferred: Preferred, by: float) -> str:
    """Play the sound louder by decibels, or softer; return why that cannot be kept, else how loud it is."""
    level = min(max(preferred.now.sound_level + by, SOFTEST), LOUDEST)
    said = preferred.change(sound_level=level)
    return said or f"The sound is played at {level:+g} dB; a master's stays as it was."


def move_sound(desk: Desk, frames: int = 0, seconds: Fraction = Fraction(0)) -> None:
    """Move the sound, later where these are positive; seconds are the sound's own."""
    desk.edit(lambda reel: moved(reel, frames, seconds))


def advance_sound(desk: Desk, track: Track) -> None:
    """Put a sound that was taken off the film beside its pictures where its track belongs on this gauge."""
    desk.edit(lambda reel: with_offset(reel, Offset(advance(reel.gauge, track))))


def type_offset(desk: Desk, text: str) -> None:
    """Set the offset that a person typed."""
    path, gauge = desk.opened.sound_path, desk.reel.gauge
    try:
        offset = parse_offset(text, gauge, sound_facts(path).rate) if path is not None else Offset()
    except BadInput as error:
        desk.message = str(error)
        return
    desk.edit(lambda reel: with_offset(reel, offset))


def pip_here(desk: Desk) -> None:
    """Put the sync pip at the beginning of the frame that is seen."""
    pip = desk.pip
    if pip is None:
        desk.message = NO_PIP
        return
    desk.edit(lambda reel: with_place_at(reel, pip, desk.frame))


def pip_frame(desk: Desk) -> int | None:
    """Return the frame beside which the sync pip begins; None where there is none, or it is off the film."""
    place = sound_place(desk.reel)
    if desk.pip is None or place is None:
        return None
    frame = floor(place.frame(desk.pip))
    return frame if 0 <= frame < desk.reel.scan.frames else None
