"""Sound by any ratio: the same samples wherever one begins, and in phase however far on."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lamphouse.graph.media.sound.resampled import BLOCK, Resampled

TURNS = 1 << 10  # of a tone in TIME samples: about a twentieth of the rate
TIME = 20011


class Tone:
    """A tone without end, known at every instant, and what was read of it."""

    channels = 2

    def __init__(self, end=None):
        self.end, self.read = end, []

    def read_into(self, out, start):
        count = out.shape[1]
        found = count if self.end is None else max(min(start + count, self.end) - start, 0)
        self.read.append(range(start, start + count))
        turns = np.arange(start, start + found) * TURNS % TIME / TIME
        out[0, :found], out[1, :found] = np.sin(2 * np.pi * turns), np.cos(2 * np.pi * turns)
        return found

    def close(self):
        pass


def made(resampled, start, stop):
    out = np.zeros((2, stop - start), np.float32)
    resampled.read_into(out, start)
    return out


def meant(ratio, start, stop):
    """The tone at each sample that is made; turns are reckoned in whole numbers."""
    read, period = ratio.denominator * TURNS, ratio.numerator * TIME
    turns = np.array([n * read % period / period for n in range(start, stop)])
    return np.stack([np.sin(2 * np.pi * turns), np.cos(2 * np.pi * turns)])


# Film and video rates as people meet them, an odd measured one among them, and sample rates of sound files.
RATES = st.sampled_from(
    [*map(Fraction, (14, 16, 18, 24, 25, 30)), Fraction(50, 3), Fraction(24000, 1001), Fraction(17117, 1003)]
)
HERTZ = st.sampled_from([22050, 44100, 48000, 96000, 44103])
HOUR = 3600 * 48000


@pytest.mark.slow
@settings(max_examples=12, deadline=None)
@given(film=RATES, video=RATES, read=HERTZ, at=st.integers(HOUR // 2, HOUR), count=st.just(200))
def test_a_tone_is_in_phase_at_any_ratio_an_hour_on(film, video, read, at, count):
    ratio = Fraction(48000, read) * film / video
    found = made(Resampled(Tone(), ratio), at, at + count)
    assert np.abs(found - meant(ratio, at, at + count)).max() < 1e-5


@pytest.mark.parametrize("ratio", [Fraction(18, 25), Fraction(1001, 1000), Fraction(959_959, 960_000)])
def test_the_same_samples_come_out_wherever_one_begins_and_each_is_read_once(ratio):
    tone = Tone()
    whole = Resampled(tone, ratio)
    step = 12_345
    parts = [made(whole, start, start + step) for start in range(0, 15 * step, step)]
    known = np.concatenate(parts, axis=1)
    assert all(one.stop == other.start for one, other in zip(tone.read, tone.read[1:], strict=False))
    for start in (BLOCK - 5, 2 * BLOCK + 7, 100, BLOCK):
        assert np.array_equal(made(Resampled(Tone(), ratio), start, start + 40), known[:, start : start + 40])
    assert np.array_equal(made(whole, 17, 99), known[:, 17:99])  # and going back
    # Where one block joins the next there is no step.
    edges = known[:, BLOCK - 100 : BLOCK + 100]
    assert np.abs(edges - meant(ratio, BLOCK - 100, BLOCK + 100)).max() < 1e-5


def test_a_sample_that_is_no_number_stays_one_and_takes_no_other_along():
    class Torn(Tone):
        def read_into(self, out, start):
            found = super().read_into(out, start)
            out[1, 2000 - start : 2001 - start] = np.inf
            return found

    found = made(Resampled(Torn(), Fraction(3, 2)), 0, 6000)
    assert np.isfinite(found[0]).all()
    assert np.flatnonzero(~np.isfinite(found[1])).tolist() == [3000]
    assert np.abs(found[1, 4000:] - meant(Fraction(3, 2), 4000, 6000)[1]).max() < 1e-5


def test_sound_that_ends_is_as_long_as_the_ratio_says_and_rings_no_further():
    resampled = Resampled(Tone(end=1000), Fraction(3, 2))
    out = np.zeros((2, 2000), np.float32)
    assert resampled.read_into(out, 0) == 1500
    assert out[:, 1400:1500].any(axis=0).all()
    assert not out[:, 1500:].any()
    assert resampled.read_into(out, 5 * BLOCK) == 0
