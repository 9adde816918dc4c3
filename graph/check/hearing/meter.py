"""Loudness and true peak of one programme, by FFmpeg's filter ebur128.

It measures after ITU-R BS.1770 and EBU R 128: gated loudness, range, the loudest 400 ms and 3 s, and peaks
between samples at four times the rate (at 192 kHz).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import inf, log10
from typing import Any, Final

import av
import numpy as np
from numpy.typing import NDArray

OPTIONS: Final = "metadata=1:peak=true:framelog=quiet"
KEY: Final = "lavfi.r128."
GATE: Final = -70.0  # LUFS: what is no louder counts as silence (ITU-R BS.1770)

Block = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Loudness:
    """What was measured: LUFS, the range in LU, the peak in dBTP and at which second of the sound it lies.

    The filter tells peaks to a thousandth of full scale, which is 0.1 dB at -22 dBTP and less above.
    """

    integrated: float = -inf
    range_: float = 0.0
    momentary: float = -inf
    short_term: float = -inf
    peak: float = -inf
    peak_at: Fraction = Fraction(0)


class Meter:
    """Measures samples as they come. Raises what PyAV raises for a layout that it cannot measure."""

    def __init__(self, rate: int, layout: str) -> None:
        self._rate, self._layout, self._samples = rate, layout, 0
        self._last: dict[str, str] = {}
        self._peak, self._peak_at = 0.0, Fraction(0)
        self._momentary = self._short_term = -inf
        self._graph = av.filter.Graph()
        tick = Fraction(1, rate)
        source = self._graph.add_abuffer(sample_rate=rate, format="flt", layout=layout, time_base=tick)
        meter, sink = self._graph.add("ebur128", OPTIONS), self._graph.add("abuffersink")
        source.link_to(meter)
        meter.link_to(sink)
        self._graph.configure()

    def add(self, block: Block) -> None:
        """Take samples (channels, n), full scale 1."""
        packed = np.ascontiguousarray(block.T, np.float32).reshape(1, -1)
        frame = av.AudioFrame.from_ndarray(packed, format="flt", layout=self._layout)
        frame.sample_rate, frame.pts, frame.time_base = self._rate, self._samples, Fraction(1, self._rate)
        self._samples += block.shape[1]
        self._graph.push(frame)
        self._pull()

    def end(self) -> Loudness:
        """Return what was measured."""
        tenth = max(1, self._rate // 10)  # of a second: the filter says nothing of less at the end
        if over := self._samples % tenth:
            self.add(np.zeros((av.AudioLayout(self._layout).nb_channels, tenth - over), np.float32))
        self._graph.push(None)
        self._pull()
        if not self._last:
            return Loudness()
        integrated = float(self._last[f"{KEY}I"])
        return Loudness(
            integrated if integrated > GATE else -inf,
            float(self._last[f"{KEY}LRA"]),
            self._momentary,
            self._short_term,
            20 * log10(self._peak) if self._peak else -inf,
            self._peak_at,
        )

    def _pull(self) -> None:
        while True:
            try:
                frame: Any = self._graph.pull()
            except (av.BlockingIOError, av.EOFError):
                return
            if f"{KEY}M" not in frame.metadata:
                continue
            self._last = frame.metadata
            self._momentary = max(self._momentary, float(self._last[f"{KEY}M"]))
            self._short_term = max(self._short_term, float(self._last[f"{KEY}S"]))
            if (peak := float(self._last[f"{KEY}true_peak"])) > self._peak:
                self._peak, self._peak_at = peak, Fraction(frame.pts or 0) * Fraction(frame.time_base)
