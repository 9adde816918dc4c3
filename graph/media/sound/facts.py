"""What a person should know of the sound beside a picture before it is delivered."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

import soundfile

from lamphouse.graph.media.scan.movie_facts import duration_of
from lamphouse.graph.media.scan.opening import open_media
from lamphouse.graph.media.sound.read import EXACT, open_sound
from lamphouse.graph.media.sound.write import LAYOUTS

SOUND_RATE: Final = 48000
# How libsndfile, in its log, words a header that speaks of more, or less, than the file holds.
_SHOULD: Final = re.compile(r": (\d+) \(should be (\d+)\)")
_UNSTATED: Final = re.compile(r"\d+ channels")  # how FFmpeg names a layout that is only a count
STEREO: Final = 2
_STREAMED: Final = 0xFFFF0000  # sizes from here on were written before they were known


@dataclass(frozen=True, slots=True)
class SoundFacts:
    """One sound, as its file states it (None: not at all); `others` are streams beside it."""

    seconds: Fraction | None
    channels: int
    layout: str | None
    others: int
    is_cut: bool


def sound_notes(path: Path, picture: Fraction, frame: Fraction) -> tuple[str, ...]:
    """Return notes on the sound of `path` beside `picture` seconds of frames that last `frame` seconds.

    Raises BadInput where it cannot be read.
    """
    open_sound(path, SOUND_RATE).close()  # a file that cannot be read is said now, not at the transfer
    facts = _of_file(path) or _of_stream(path)
    notes = []
    if facts.is_cut:
        notes.append("The sound file is shorter than its header says; it may be cut off.")
    if facts.seconds is not None and abs(facts.seconds - picture) > frame:
        rest = "is silent" if facts.seconds < picture else "is left out"
        lengths = f"The sound lasts {_clock(facts.seconds)} and the picture {_clock(picture)}"
        notes.append(f"{lengths}; the rest {rest}.")
    if facts.others:
        notes.append(f"The file holds {facts.others + 1} sound streams; only the first is taken.")
    return (*notes, *_layout_notes(facts))


def _layout_notes(facts: SoundFacts) -> list[str]:
    if facts.channels not in LAYOUTS:
        return [f"Sound of {facts.channels} channels cannot be delivered; mix it to 1, 2, 6 or 8."]
    meant = LAYOUTS[facts.channels]
    if facts.layout == meant or (facts.layout is None and facts.channels <= STEREO):
        return []
    layout = f", laid out as {facts.layout}," if facts.layout else ""
    return [f"The {facts.channels} channels of the sound{layout} are delivered in their order, as {meant}."]


def _of_file(path: Path) -> SoundFacts | None:
    """Return the facts of a file that is read in place, None for a movie."""
    try:
        with soundfile.SoundFile(path) as file:
            if file.format not in EXACT:
                return None
            seconds = Fraction(file.frames, file.samplerate)
            return SoundFacts(seconds, file.channels, None, 0, _is_cut(file))
    except soundfile.LibsndfileError:
        return None


def _is_cut(file: Any) -> bool:
    stated = ((int(size), int(found)) for size, found in _SHOULD.findall(file.extra_info))
    if any(found < size < _STREAMED for size, found in stated):
        return True
    try:
        file.seek(max(file.frames - 1, 0))
        return bool(len(file.read(1)) < min(file.frames, 1))
    except soundfile.LibsndfileError:  # FLAC, which ends before its last sample
        return True


def _of_stream(path: Path) -> SoundFacts:
    with open_media(path) as container:
        stream = container.streams.audio[0]
        layout = stream.codec_context.layout
        stated = None if _UNSTATED.match(layout.name) else layout.name.removesuffix("(side)")
        others = len(container.streams.audio) - 1
        return SoundFacts(duration_of(stream), int(layout.nb_channels), stated, others, is_cut=False)


def _clock(seconds: Fraction) -> str:
    thousandths = round(seconds * 1000)
    whole, rest = divmod(thousandths, 1000)
    return f"{whole // 3600}:{whole // 60 % 60:02}:{whole % 60:02}.{rest:03}"
