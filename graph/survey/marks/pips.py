"""Sync pips in the sound of a reel, beside its leaders: one before the picture, and one after it."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import floor
from pathlib import Path
from typing import Final

from lamphouse.graph.media.sound.pip import HEAD, find_pip
from lamphouse.graph.media.sound.read import SoundSource, open_anywhere
from lamphouse.graph.reel.records import Reel
from lamphouse.graph.reel.sound_place import SoundPlace, sound_place
from lamphouse.graph.survey.changes.leaders import Leaders
from lamphouse.nodes.errors import BadInput

NEAR: Final = 5  # seconds of the picture, from an end on, in which a pip is looked for too (our choice)


@dataclass(frozen=True, slots=True)
class FoundPip:
    """A pip that begins with a frame of the scan, and lasts so many seconds."""

    frame: int
    seconds: Fraction


def pips(reel: Reel, path: Path | None, leaders: Leaders) -> list[FoundPip]:
    """Return the pips of the sound at `path`, the first near each end of the film's picture.

    There are none without a sound, nor in one that cannot be read: whoever plays it says what is wrong.
    """
    place = sound_place(reel)
    if path is None or place is None:
        return []
    try:
        with open_anywhere(path) as source:
            spans = _spans(place, leaders, reel.scan.frames, source.rate)
            found = [_found(source, place, *span) for span in spans]
    except BadInput:
        return []
    inside = {pip.frame: pip for pip in found if pip is not None and 0 <= pip.frame < reel.scan.frames}
    return list(inside.values())


def _spans(place: SoundPlace, leaders: Leaders, frames: int, rate: int) -> list[tuple[int, int]]:
    """Return the samples in which a pip is looked for: those by either end of the picture."""
    near = place.recorded * NEAR
    middle = Fraction(leaders.head + leaders.tail, 2)
    places = [
        (Fraction(0), min(leaders.head + near, middle)),
        (max(leaders.tail - near, middle), Fraction(frames)),
    ]
    first, last = (
        [max(0, floor((at - place.begins) / place.recorded * rate)) for at in span] for span in places
    )
    return [(max(first[0], first[1] - HEAD * rate), first[1]), (max(first[1], last[0]), last[1])]


def _found(source: SoundSource, place: SoundPlace, first: int, stop: int) -> FoundPip | None:
    pip = find_pip(source, place.recorded, first, min(stop, first + HEAD * source.rate))
    if pip is None:
        return None
    frame = floor(place.frame(pip.seconds) + Fraction(1, 2))
    return FoundPip(frame, Fraction(pip.samples, pip.rate))
