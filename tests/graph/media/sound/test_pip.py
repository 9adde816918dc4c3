"""The sync pip: a tone of a frame, found where it was put, and nothing else taken for it. All invented."""

from fractions import Fraction

import numpy as np
import pytest

from lamphouse.graph.media.sound.pip import find_pip


class Sound:
    """Samples (channels, n) of full scale 1, with silence at either end, as a source gives them."""

    def __init__(self, samples, rate):
        self.samples, self.rate, self.channels = samples, rate, len(samples)

    def block(self, start, stop):
        out = np.zeros((self.channels, stop - start), np.float32)
        first, last = max(start, 0), min(stop, self.samples.shape[1])
        if first < last:
            out[:, first - start : last - start] = self.samples[:, first:last]
        return out


def tone(rate, samples, hertz=1000):
    return np.sin(2 * np.pi * hertz * np.arange(samples) / rate)


# samples and film frames a second, seconds to the pip, hertz, its peak, the level of noise about it
PIPS = [
    (48000, 24, 6, 1000, 0.1, 0),
    (48000, 24, 9.99, 1000, 0.1, 0.003),  # over the edge of what is looked at together
    (44100, 25, 3.0007, 1000, 0.3, 0.001),
    (48000, Fraction(50, 3), 3.1, 960, 0.3, 0.001),  # 24 read at 25
    (8000, 18, 5, 1000, 0.5, 0.001),
]


@pytest.mark.parametrize(("rate", "film", "seconds", "hertz", "peak", "noise"), PIPS)
def test_a_pip_is_found_where_it_begins_to_two_samples(rate, film, seconds, hertz, peak, noise):
    samples = np.random.default_rng(1).standard_normal((2, 12 * rate)) * noise
    begins, lasts = round(seconds * rate), int(rate / film)
    samples[1, begins : begins + lasts] += peak * tone(rate, lasts, hertz)
    pip = find_pip(Sound(samples, rate), Fraction(film))
    assert abs(pip.sample - begins) <= 2  # a sine begins with 0
    assert abs(pip.samples - lasts) <= rate / 500
    assert pip.seconds == Fraction(pip.sample, rate)


def test_line_up_tone_music_noise_and_silence_are_no_pip():
    rate, rng = 16000, np.random.default_rng(2)
    line_up, music = np.zeros((1, 12 * rate)), np.zeros((1, 12 * rate))
    line_up[0, rate : 9 * rate] = tone(rate, 8 * rate)
    for note in range(40):  # each note falls into the next
        at, fall = slice(note * rate // 4, note * rate // 4 + rate), np.exp(-np.arange(rate) * 12 / rate)
        music[0, at] += fall * tone(rate, rate, rng.choice([440, 660, 880, 990, 1000, 1100])) / 4
    for samples in (line_up, music, rng.standard_normal((1, 12 * rate)) / 10, np.zeros((1, 100))):
        assert find_pip(Sound(samples, rate), Fraction(24)) is None
