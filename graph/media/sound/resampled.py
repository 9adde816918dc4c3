"""Sound at another rate, by a ratio that is exact for any length, with the same samples wherever one begins.

The library is soxr. It runs over one block of a fixed grid at a time, each from the same samples with more
of them at both sides than its filters reach, so that a block is what it is whoever asked for which first. It
begins where a sample that is read and one that is made lie at the same time; where the ratio's terms are so
large that this is too far away, what is read is shifted by the part of a sample that is between. So nothing
is rounded that could add up, however far on. The library's sums are of double precision in an order that is
the processor's: of another kind, one may round a sample of millions to the next code of 24 bits.
"""

from __future__ import annotations

from fractions import Fraction
from math import ceil
from typing import Final

import numpy as np

from lamphouse.graph.media.sound.readers import Chunk, Reader, Samples

BLOCK: Final = 1 << 16  # samples that are made at once
REACH: Final = 512  # samples at the lower rate that are read at either side; the filters reach 130 (tried)
NEAR: Final = 4096  # samples that are made, up to which the next two that meet are sought


class Resampled:
    """What `reader` gives, with `ratio` samples for each one of it; sample 0 is where its own is."""

    def __init__(self, reader: Reader, ratio: Fraction) -> None:
        self.channels, self._reader, self._ratio = reader.channels, reader, ratio
        self._made = self._read = Chunk(0, np.zeros((self.channels, 0), np.float32))
        self._end: int | None = None  # of what is read, once it is known

    def read_into(self, out: Samples, start: int) -> int:
        """Fill `out` as every reader does."""
        stop = start + int(out.shape[1])
        for number in range(start // BLOCK, -(-stop // BLOCK)):
            self._block(number).copy_into(out, start)
        return stop - start if self._end is None else max(min(stop, self._stop) - start, 0)

    def close(self) -> None:
        """Release the file."""
        self._reader.close()

    def _block(self, number: int) -> Chunk:
        start = number * BLOCK
        if self._made.start != start or not self._made.samples.size:
            self._made = Chunk(start, self._resampled(start, start + BLOCK))
        return self._made

    def _resampled(self, start: int, stop: int) -> Samples:
        ratio, reach = self._ratio, REACH * max(Fraction(1), self._ratio)
        begin = start - ceil(reach)
        if ratio.numerator <= NEAR:
            begin -= begin % ratio.numerator
        taken = self._taken(round(begin / ratio), ceil((stop + reach) / ratio))
        made = _converted(taken, ratio, float(begin / ratio - round(begin / ratio)))
        samples = np.ascontiguousarray(made[:, start - begin : stop - begin])
        if self._end is not None:
            samples[:, max(self._stop - start, 0) :] = 0  # what rings on after the end is cut
        return samples

    @property
    def _stop(self) -> int:
        assert self._end is not None
        return ceil(self._end * self._ratio)

    def _taken(self, start: int, stop: int) -> Samples:
        """Return samples [start, stop) of the reader; those that the last block had are not read again."""
        out, known = np.zeros((self.channels, stop - start), np.float32), self._read
        goes_on = known.start <= start <= known.stop
        first = max(known.stop if goes_on else start, 0)
        if goes_on:
            known.copy_into(out, start)
        if first < stop:
            found = self._reader.read_into(out[:, first - start :], first)
            if first + found < stop:
                self._end = first + found
        self._read = Chunk(start, out)
        return out


def _converted(samples: Samples, ratio: Fraction, between: float) -> Samples:
    """Return samples with `ratio` for each one, the first where it is `between` of one after the first.

    One that is no number stays one, and takes no other along.
    """
    import soxr

    lost = ~np.isfinite(samples)
    whole = np.where(lost, 0, samples)
    if between:
        whole = _shifted(whole, between)
    made = soxr.resample(whole.T, ratio.denominator, ratio.numerator, quality="VHQ").T
    channels, places = np.nonzero(lost)
    near = np.rint((places - between) * float(ratio)).astype(int)
    made[channels, np.clip(near, 0, made.shape[1] - 1)] = np.nan
    return np.asarray(made, np.float32)


def _shifted(samples: Samples, share: float) -> Samples:
    """Return what lies `share` of a sample after each; both ends are faded, where no filter needs them."""
    from scipy.fft import irfft, next_fast_len, rfft, rfftfreq

    rise = np.sin(np.linspace(0, np.pi / 2, REACH // 2)) ** 2
    faded = samples.astype(np.float64)
    faded[:, : len(rise)] *= rise
    faded[:, -len(rise) :] *= rise[::-1]
    length = next_fast_len(faded.shape[1], real=True)
    turned = rfft(faded, length) * np.exp(2j * np.pi * rfftfreq(length) * share)
    return np.asarray(irfft(turned, length)[:, : faded.shape[1]], np.float32)
