"""The sync pip: a tone of one frame near the head, which lies beside a known frame of the picture.

Practice in the trade puts a pip of 1 kHz two seconds before the first picture, beside the last figure of a
leader (SMPTE RP 428-6 and the leaders before it; from memory).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby
from typing import Any, Final

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from lamphouse.graph.media.sound.read import SoundSource
from lamphouse.graph.media.sound.readers import Samples

HEAD: Final = 120  # seconds in which it is looked for
BAND: Final = (800, 1250)  # Hz: 1 kHz, recorded or read somewhat fast or slow
LENGTHS: Final = (0.4, 2.5)  # frames that a pip may last
LEAST: Final = 1e-5  # mean square, full scale 1: -50 dB
PURE: Final = 0.8  # share of the power that is the tone's
QUIET: Final = 0.01  # of the pip's power, in as long a time before and after it: 20 dB
WINDOW: Final = 50  # windows, each its part of a second, in which tones are told; four of them overlap
STEP: Final = 10  # seconds that are looked at together


@dataclass(frozen=True, slots=True)
class Pip:
    """A tone of about a frame, from `sample` on, `samples` long, in a sound of `rate` samples a second."""

    sample: int
    samples: int
    rate: int

    @property
    def seconds(self) -> Fraction:
        """When it begins, in the sound's own time."""
        return Fraction(self.sample, self.rate)


def find_pip(source: SoundSource, recorded: Fraction, first: int = 0, stop: int | None = None) -> Pip | None:
    """Return the first pip in samples [first, stop) of `source`, recorded at `recorded` frames a second.

    Without `stop` it is looked for in `HEAD` seconds.

    Its place is the first sample that stands out, which in noise may be a few later. `source` runs as it was
    recorded. Raises BadInput where it is damaged.
    """
    window = source.rate // WINDOW
    end = first + HEAD * source.rate if stop is None else stop
    for start in range(first, end, STEP * source.rate):
        samples = source.block(start - 8 * window, min(end, start + STEP * source.rate) + 8 * window)
        for found in _tones(samples, source.rate):
            if (pip := _measured(samples, found, source.rate, recorded)) is not None:
                return Pip(pip.sample + start - 8 * window, pip.samples, source.rate)
    return None


def _tones(samples: Samples, rate: int) -> Iterator[slice]:
    """Yield where there is a tone of that band and hardly anything else."""
    window, hop = rate // WINDOW, rate // WINDOW // 4
    views = sliding_window_view(samples, window, axis=1)[:, ::hop]
    taper = np.hanning(window).astype(np.float32)
    power = (np.abs(np.fft.rfft(views * taper)) ** 2).sum(axis=0) * (2 / (window * (taper**2).sum()))
    hertz = np.fft.rfftfreq(window, 1 / rate)
    band = np.flatnonzero((hertz >= BAND[0]) & (hertz <= BAND[1]))
    peak = band[0] + power[:, band].argmax(axis=1)
    about = peak[:, None] + np.arange(-2, 3)
    tone, whole = np.take_along_axis(power, about, axis=1).sum(axis=1), power.sum(axis=1)
    tonal = (tone > PURE * whole) & (whole > LEAST / 4)
    for is_tone, run in groupby(range(len(tonal)), tonal.__getitem__):
        numbers = list(run)
        if is_tone:
            yield slice(numbers[0] * hop, numbers[-1] * hop + window)


def _measured(samples: Samples, found: slice, rate: int, recorded: Fraction) -> Pip | None:
    """Return the pip that a tone is, where it is one: as long as a frame, between silences."""
    frame = rate / float(recorded)
    if found.stop - found.start > 2 * LENGTHS[1] * frame + 2 * rate / WINDOW:
        return None
    margin = rate // WINDOW
    first = max(found.start - margin, 0)
    part = samples[:, first : found.stop + margin]
    part = part[int((part**2).sum(axis=1).argmax())].astype(np.float64)
    level = _level(part, rate)
    sounding = np.flatnonzero(level > level.max() / 2)
    begin, stop = int(sounding[0]), int(sounding[-1]) + 1
    lasts, edge = stop - begin, rate // 500
    around = [part[max(begin - margin, 0) : max(begin - edge, 0)], part[stop + edge : stop + margin]]
    power, quiet = _mean_square(part[begin:stop]), max(map(_mean_square, around))
    is_pip = LENGTHS[0] * frame <= lasts <= LENGTHS[1] * frame and power > LEAST
    if not is_pip or quiet > QUIET * power:
        return None
    from_silence = max(begin - edge, 0)
    heard = part[from_silence:stop] ** 2 > max(16 * quiet, power / 500)
    begins = from_silence + int(heard.argmax())
    return Pip(first + begins, stop - begins, rate)


def _level(samples: NDArray[Any], rate: int) -> NDArray[Any]:
    """Return the power about each sample: over a period of 1 kHz, so that a tone's own waves are even."""
    period = max(round(rate / 1000), 1)
    return np.convolve(samples**2, np.full(period, 1 / period), mode="same")


def _mean_square(samples: NDArray[Any]) -> float:
    return float((samples**2).mean()) if samples.size else 0.0
