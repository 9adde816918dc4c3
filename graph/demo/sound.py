"""The sound of the reel: a place for every shot, a tune on bells, and the pip that pairs with the sync mark.

A frame at 25 fps is exactly 1920 samples at 48 kHz, so every sound can be said to the sample.
"""

from collections.abc import Callable
from pathlib import Path
from typing import Final

import numpy as np
import soundfile
from numpy.typing import NDArray

from lamphouse.graph.demo import sound_voices as voices
from lamphouse.graph.demo.sound_voices import SAMPLE_RATE, Wave
from lamphouse.graph.demo.story import RATE, Roll, Shot
from lamphouse.graph.files.whole_file import whole_file

SAMPLES_PER_FRAME: Final = SAMPLE_RATE // RATE
PIP_HERTZ: Final = 1000  # common practice for a sync pip, no source
PIP_LEVEL: Final = 10 ** (-18 / 20)  # of full scale: the level of line-up tone, EBU R 68, from memory

# The tune, invented: (beats from the start, half tones above A3), one beat = 18 frames.
TUNE: Final = (
    (0, 7),
    (1, 12),
    (2, 14),
    (3, 16),
    (5, 14),
    (6, 12),
    (8, 9),
    (9, 7),
    (10, 4),
    (12, 7),
    (13, 9),
    (14, 12),
    (16, 16),
    (17, 19),
    (18, 16),
    (20, 14),
    (22, 12),
    (24, 9),
    (25, 12),
    (26, 7),
    (28, 4),
    (30, 0),
)


class _Track:
    """Two channels of sound to which sounds are added at a sample."""

    def __init__(self, frames: int) -> None:
        self.wave: NDArray[np.float64] = np.zeros((frames * SAMPLES_PER_FRAME, 2))

    def add(self, sound: Wave, start: int, stop: int, *, strength: float = 1.0, side: float = 0.0) -> None:
        """Add a sound at sample `start`, cut off at `stop`; `side` is -1 left to +1 right."""
        length = min(len(sound), stop - start, len(self.wave) - start)
        if length > 0:
            turn = (side + 1) * np.pi / 4
            gains = np.array([np.cos(turn), np.sin(turn)]) * strength
            self.wave[start : start + length] += sound[:length, None] * gains


def write_sound(path: Path, wave: NDArray[np.float64]) -> None:
    """Write a reel's sound, (samples, 2), full scale 1: WAV, 24 bit, 48 kHz."""
    with whole_file(path) as file:
        soundfile.write(file, wave, SAMPLE_RATE, format="WAV", subtype="PCM_24")


def mix(roll: Roll) -> NDArray[np.float64]:
    """Return the sound of the roll, (samples, 2), full scale 1; the leaders are silent but for the pip."""
    track = _Track(roll.frames)
    for shot in roll.shots:
        place = _PLACES.get(shot.name)
        if place is not None:
            place(track, shot)
    _tune(track, roll)
    wave = track.wave * (0.5 / max(0.5, float(np.abs(track.wave).max())))
    lay_pip(wave, roll.sync)
    return wave


def lay_pip(wave: NDArray[np.float64], frame: int) -> None:
    """Lay the sync pip over a sound, (samples, 2), for as long as a frame is shown."""
    first = frame * SAMPLES_PER_FRAME
    turn = 2 * np.pi * PIP_HERTZ * voices.times(SAMPLES_PER_FRAME)
    wave[first : first + SAMPLES_PER_FRAME] = (PIP_LEVEL * np.cos(turn))[:, None]


def _span(shot: Shot) -> tuple[int, int]:
    return shot.first * SAMPLES_PER_FRAME, shot.stop * SAMPLES_PER_FRAME


def _air(track: _Track, shot: Shot, low: float, high: float, strength: float, *, every: float = 1.2) -> None:
    """Lay moving noise, wind or water by its band, under a shot; each side has its own."""
    start, stop = _span(shot)
    for side in (-0.7, 0.7):
        throw = shot.first + round(10 * side) + round(low) + 50
        noise = voices.coloured_noise(throw, stop - start, low, high)
        loud = 0.45 + 0.55 * voices.swell(throw + 1, stop - start, every)
        track.add(noise * loud * voices.fade(stop - start, 0.06), start, stop, strength=strength, side=side)


def _scatter(
    track: _Track, shot: Shot, make: Callable[[int], Wave], every: float, strength: float = 1.0
) -> None:
    """Scatter a sound through a shot, on average `every` seconds."""
    start, stop = _span(shot)
    dice = np.random.default_rng((7, shot.first))
    at = start + dice.uniform(0.1, every) * SAMPLE_RATE
    while at < stop - 0.25 * SAMPLE_RATE:
        track.add(
            make(int(at)),
            int(at),
            stop,
            strength=strength * dice.uniform(0.5, 1.0),
            side=dice.uniform(-0.9, 0.9),
        )
        at += dice.uniform(0.5, 1.5) * every * SAMPLE_RATE


def _beats(
    track: _Track, shot: Shot, make: Callable[[int], Wave], frames: float, strength: float = 1.0
) -> None:
    """Repeat a sound every so many frames, such as footfalls in step with the picture."""
    start, stop = _span(shot)
    count = int((stop - start) / (frames * SAMPLES_PER_FRAME)) + 1
    for beat in range(count):
        at = start + round(beat * frames * SAMPLES_PER_FRAME)
        track.add(make(at), at, stop, strength=strength, side=0.25 * (-1) ** beat)


def _dawn(track: _Track, shot: Shot) -> None:
    _air(track, shot, 180, 900, 0.020)
    _scatter(track, shot, voices.chirp, 0.7)


def _door(track: _Track, shot: Shot) -> None:
    _air(track, shot, 300, 2200, 0.008)
    _scatter(track, shot, voices.chirp, 0.9, 0.7)
    _beats(track, shot, lambda throw: voices.step(throw, hollow=False), RATE / 1.9)


def _meadow(track: _Track, shot: Shot) -> None:
    _air(track, shot, 500, 4000, 0.012)
    start, stop = _span(shot)
    track.add(
        voices.crickets(2, stop - start) * voices.fade(stop - start, 0.06),
        start,
        stop,
        strength=0.5,
        side=0.5,
    )
    _beats(track, shot, lambda throw: voices.step(throw, hollow=False), RATE / 1.84)


def _face(track: _Track, shot: Shot) -> None:
    _air(track, shot, 400, 3200, 0.016, every=0.8)
    _scatter(track, shot, voices.goose, 0.9, 0.35)


def _wood(track: _Track, shot: Shot) -> None:
    _air(track, shot, 500, 3600, 0.017, every=0.9)
    _scatter(track, shot, voices.goose, 0.32, 0.9)


def _water(track: _Track, shot: Shot) -> None:
    _air(track, shot, 160, 1100, 0.022, every=0.6)
    beat = {"crossing": 0.62, "dusk": 0.5}.get(shot.name)
    if beat is not None:
        _beats(track, shot, voices.oar, RATE / beat, 0.8)


def _flame(track: _Track, shot: Shot) -> None:
    start, stop = _span(shot)
    track.add(voices.crackle(5, stop - start) * voices.fade(stop - start, 0.05), start, stop)


def _night(track: _Track, shot: Shot) -> None:
    _air(track, shot, 150, 800, 0.014)
    start, stop = _span(shot)
    track.add(
        voices.crickets(4, stop - start) * voices.fade(stop - start, 0.06),
        start,
        stop,
        strength=0.7,
        side=-0.4,
    )
    if shot.name == "lamp":
        _beats(track, shot, lambda throw: voices.step(throw, hollow=True), RATE / 1.7, 0.8)
        track.add(voices.bell(220, 1.6, 0.30), start + round(0.42 * (stop - start)), stop, side=-0.5)


_PLACES: Final[dict[str, Callable[[_Track, Shot], None]]] = {
    "dawn": _dawn,
    "door": _door,
    "meadow": _meadow,
    "face": _face,
    "wood": _wood,
    "crossing": _water,
    "clouds": _water,
    "flame": _flame,
    "dusk": _water,
    "lamp": _night,
    "answer": _night,
}


def _tune(track: _Track, roll: Roll) -> None:
    """Lay the tune from dawn to the last picture, twice through, softly."""
    shots = {shot.name: shot for shot in roll.shots}
    start, stop = _span(shots["dawn"])[0], _span(shots["answer"])[1]
    beat = 18 * SAMPLES_PER_FRAME
    for turn in range(2):
        for at, tone in TUNE:
            place = start + (at + 24 * turn + (8 * turn)) * beat
            pitch = 220.0 * 2 ** (tone / 12)
            track.add(voices.bell(pitch, 1.9, 0.075), place, stop, side=0.3 * np.sin(at))
            if at % 4 == 0:
                track.add(voices.bell(pitch / 2, 2.4, 0.045), place, stop, side=-0.2)
