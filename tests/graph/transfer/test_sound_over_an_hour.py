"""A click at each minute of an hour of sound, where its film frame is in the master, by exact arithmetic."""

import struct
from contextlib import closing
from fractions import Fraction

import msgspec
import numpy as np
import pytest
import soundfile

from lamphouse.graph.media.master.delivery import delivery
from lamphouse.graph.reel.records import ChainRef, Reel, ScanRef, Sound, SoundRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.transfer.plan import plan
from lamphouse.graph.transfer.sound import MasterSound
from lamphouse.nodes.catalogue import Catalogue

HERTZ, HOUR, MINUTE = 48000, 3600, 60
NTSC, FILM = Fraction(30000, 1001), Fraction(24000, 1001)


@pytest.fixture(scope="module")
def clicks(tmp_path_factory):
    """An hour of silence with a sample of 0.5 at each minute: a file of holes, so that it costs no disk."""
    path = tmp_path_factory.mktemp("hour") / "clicks.wav"
    size = 2 * HERTZ * HOUR
    # RIFF WAVE, PCM: 1 channel of 16 bits.
    form = struct.pack(
        "<4sI4s4sIHHIIHH", b"RIFF", size + 36, b"WAVE", b"fmt ", 16, 1, 1, HERTZ, 2 * HERTZ, 2, 16
    )
    with path.open("wb") as file:
        head = file.write(form + struct.pack("<4sI", b"data", size))
        file.truncate(head + size)
        for second in range(0, HOUR, MINUTE):
            file.seek(head + 2 * HERTZ * second)
            file.write(np.int16(1 << 14).tobytes())
    return path


def sound_of(path, film, *, pitch="follows", start=0, recorded=None, starts_at=0, offset="0", **asked):
    """The sound of a master of an hour of film."""
    frames = int(max(film, Fraction(recorded or 0)) * HOUR)
    scan = ScanRef(path="film", frames=frames, width=32, height=24)
    sound = SoundRef(path=str(path), rate=recorded, starts_at=starts_at, offset=offset)
    chain = ChainRef(nodes=(), output="scan")
    reel = Reel(scan=scan, sound=sound, rate=str(film), chain=chain)
    made = msgspec.structs.replace(delivery("hd-ffv1", {}), sound=Sound(rate=HERTZ, pitch=pitch), **asked)
    return MasterSound(plan(OpenedReel(path, reel, Catalogue()), made, start, scan.frames))


def around(sound, at, rate, frames=1):
    """The samples of the frames about sample `at` of the master, and the place of the first."""
    middle = int(at * rate / HERTZ)
    numbers = range(max(middle - frames, 0), middle + frames + 1)
    return np.concatenate([sound.block(n)[-1] for n in numbers]), int(numbers[0] * HERTZ / rate)


# film, master, scanning, cadence, film frames a second that run in the master, and at the recording
CASES = [
    (Fraction(50, 3), Fraction(25), "top-first", "repeat", Fraction(50, 3), None),
    (Fraction(50, 3), Fraction(25), "top-first", "run", 25, None),
    (Fraction(18), Fraction(25), "progressive", "run", 25, None),
    (Fraction(24), NTSC, "bottom-first", "2:3", FILM, None),
    (Fraction(24), FILM, "progressive", "run", FILM, None),
    (Fraction(25), Fraction(25), "progressive", "run", 25, None),
    (Fraction(24), Fraction(24), "progressive", "run", 24, "25"),
]


@pytest.mark.parametrize(("film", "rate", "scanning", "cadence", "running", "recorded"), CASES)
def test_each_minute_of_an_hour_sounds_at_its_sample(
    clicks, film, rate, scanning, cadence, running, recorded
):
    asked = {"rate": str(rate), "scanning": scanning, "cadence": cadence}
    with closing(sound_of(clicks, film, recorded=recorded, **asked)) as sound:
        for second in range(0, HOUR, MINUTE):
            # It lies beside the film frame that passed at the recording, and that is on the screen now.
            meant = Fraction(recorded or film) * second / running * HERTZ
            samples, first = around(sound, meant, rate)
            assert abs(first + int(samples.argmax()) - meant) <= Fraction(1, 2)
            assert samples.max() > 0.2


def test_a_part_of_the_film_and_an_offset_keep_each_sample_by_its_frame(clicks):
    # The first sample lies 26 frames and 12.5 ms after the first of the film: (20 * 18 + 26) frames and
    # 0.0125 s at 18 frames a second into it lies the click of second 60, of which 1000 are not taken.
    asked = {"rate": "25", "bars": 5, "black_before": 3}
    with closing(sound_of(clicks, 18, starts_at=26, offset="1/80", start=1000, **asked)) as sound:
        for second in (60, 3540):
            frame = 26 + (second + Fraction(1, 80)) * 18
            meant = (8 + (frame - 1000) / 25 * 25) * HERTZ / 25
            samples, first = around(sound, meant, 25)
            assert abs(first + int(samples.argmax()) - meant) <= 1


@pytest.mark.parametrize("channels", [1, 6])
def test_a_pitch_that_is_kept_is_kept_and_each_place_stays_within_30_ms(tmp_path, channels):
    # A burst each 2 s over a tone of 440 Hz, which at 25 / 18 of the speed would be 611 Hz; the last of
    # several channels sounds, and the others are silent.
    seconds = 21
    at = np.arange(HERTZ * seconds)
    heard = 0.2 * np.sin(2 * np.pi * 440 * at / HERTZ)
    for second in range(1, seconds, 2):
        heard[second * HERTZ :][:48] += 0.7 * np.hanning(48)
    path = tmp_path / "bursts.wav"
    samples = np.zeros((len(heard), channels))
    samples[:, -1] = heard
    soundfile.write(path, samples, HERTZ, subtype="FLOAT")
    with closing(sound_of(path, 18, pitch="kept", rate="25")) as sound:
        for second in range(1, seconds - 2, 2):
            meant = Fraction(18, 25) * second * HERTZ
            samples, first = around(sound, meant, 25, frames=3)
            assert abs(first + int(samples.argmax()) - meant) < 0.03 * HERTZ
        blocks = [sound.block(n) for n in range(201, 226)]
        tone = np.concatenate([block[-1] for block in blocks])
        assert not any(block[:-1].any() for block in blocks)
        assert abs(int(np.abs(np.fft.rfft(tone[:HERTZ])).argmax()) - 440) <= 1
        again = np.concatenate([sound.block(n)[-1] for n in range(201, 226)])
    assert np.array_equal(tone, again)
