"""What a person should know of the sound beside a picture before it is delivered."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

import soundfile

from lamphouse.graph.media.scan.movie_facts import duration_of
from lamphouse.graph.media.scan.opening import open_media
from lamphouse.graph.media.sound.read import open_sound
from lamphouse.graph.media.sound.readers import EXACT
from lamphouse.graph.media.sound.write import LAYOUTS
from lamphouse.graph.reel.records import Reel
from lamphouse.graph.reel.sound_place import sound_place
from lamphouse.graph.time.rate import parse_rate

SOUND_RATE: Final = 48000
# How libsndfile, in its log, words a header that speaks of more, or less, than the file holds.
_SHOULD: Final = re.compile(r": (\d+) \(should be (\d+)\)")
_UNSTATED: Final = re.compile(r"\d+ channels")  # how FFmpeg names a layout that is only a count
STEREO: Final = 2
_STREAMED: Final = 0xFFFF0000  # sizes from here on were written before they were known


@dataclass(frozen=True, slots=True)
class SoundFacts:
    """One sound, as its file states it (None: not at all); `others` are streams beside it.

    `rate` are its samples a second, and `seconds` its own, as recorded.
    """

    rate: int
    seconds: Fraction | None
    channels: int
    layout: str | None
    others: int
    is_cut: bool


def sound_facts(path: Path) -> SoundFacts:
    """Return the facts of the sound of `path`. Raises BadInput where it cannot be read."""
    open_sound(path, SOUND_RATE).close()  # a file that cannot be read is said now, not at the transfer
    return _of_file(path) or _of_stream(path)


@dataclass(frozen=True, slots=True)
class Beside:
    """A sound beside the picture of its reel, in seconds at the speed of the film from the first frame on.

    `speed` is how many times as fast it runs there as it was recorded; `ends` None where nobody knows.
    """

    begins: Fraction
    ends: Fraction | None
    picture: Fraction
    speed: Fraction


def beside(facts: SoundFacts, reel: Reel) -> Beside | None:
    """Return how the sound of `reel` lies beside its picture; None where it has none. Raises BadInput."""
    place, rate = sound_place(reel), parse_rate(reel.rate)
    if place is None:
        return None
    ends = None if facts.seconds is None else place.frame(facts.seconds) / rate
    return Beside(place.begins / rate, ends, reel.scan.frames / rate, rate / place.recorded)


def sound_notes(path: Path, reel: Reel) -> tuple[str, ...]:
    """Return notes on `path` as the sound of `reel`. Raises BadInput where it cannot be read."""
    facts = sound_facts(path)
    notes, lies = [], beside(facts, reel)
    if facts.is_cut:
        notes.append("The sound file is shorter than its header says; it may be cut off.")
    if lies is not None:
        notes += [*_speed_notes(lies, reel), *_length_notes(lies, 1 / parse_rate(reel.rate))]
    if facts.others:
        notes.append(f"The file holds {facts.others + 1} sound streams; only the first is taken.")
    return (*notes, *_layout_notes(facts))


def _speed_notes(lies: Beside, reel: Reel) -> Iterator[str]:
    if lies.speed != 1 and reel.sound is not None:
        change = f"{float(abs(lies.speed - 1)) * 100:.3g} % {'faster' if lies.speed > 1 else 'slower'}"
        yield (
            f"The sound was recorded at {reel.sound.rate} film frames a second and the film runs at "
            f"{reel.rate}, so it runs {change}; its pitch follows, where a delivery does not keep it."
        )


def _length_notes(lies: Beside, frame: Fraction) -> Iterator[str]:
    """Say what is longer or shorter than the picture, by more than a frame."""
    begins, ends, picture = lies.begins, lies.ends, lies.picture
    if begins > frame:
        yield f"The sound begins {clock(begins)} after the picture, which is silent until then."
    if begins < -frame:
        yield f"The sound begins {clock(-begins)} before the picture; that part is left out."
    if ends is None or abs(ends - picture) <= frame:
        return
    rest = "the rest is silent" if ends < picture else "the rest is left out"
    if abs(begins) <= frame:
        yield f"The sound lasts {clock(ends - begins)} and the picture {clock(picture)}; {rest}."
    else:
        when = "before" if ends < picture else "after"
        yield f"The sound ends {clock(abs(ends - picture))} {when} the picture; {rest}."


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
            return SoundFacts(int(file.samplerate), seconds, file.channels, None, 0, _is_cut(file))
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
        rate, channels = int(stream.codec_context.sample_rate), int(layout.nb_channels)
        return SoundFacts(rate, duration_of(stream), channels, stated, others, is_cut=False)


def clock(seconds: Fraction) -> str:
    """Return `seconds` as hours, minutes, seconds and thousandths: `0:00:01.500`."""
    thousandths = round(seconds * 1000)
    whole, rest = divmod(thousandths, 1000)
    return f"{whole // 3600}:{whole // 60 % 60:02}:{whole % 60:02}.{rest:03}"
