"""Sound that lasts longer or shorter and keeps its pitch.

FFmpeg's `atempo` overlaps pieces of 43 ms (at 48 kHz) where they fit best, so that a place in the sound comes
up to 30 ms early or late (26 ms at most were seen), and never drifts. Where it runs much faster, what is as
short as a click may be left out. What it makes depends on all that came before: it is reckoned from the
beginning of the sound, in steps of one size, so that the same samples come out wherever one begins. Its
correlations are the processor's: another kind of processor may find other pieces.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from math import ceil, log2
from typing import Any, Final

import av
import numpy as np

from lamphouse.graph.media.sound.readers import Chunk, InOrder, Reader, Samples

STEP: Final = 1 << 14  # samples


class Stretched(InOrder):
    """What `reader` gives at `rate` samples a second, `tempo` times as fast at the same pitch."""

    def __init__(self, reader: Reader, rate: int, tempo: Fraction) -> None:
        self._reader, self._rate, self._tempo = reader, rate, tempo
        super().__init__(reader.channels)

    def close(self) -> None:
        """Release the file."""
        self._reader.close()

    def _begin(self) -> Iterator[Chunk]:
        graph, sink = self._graph()
        place = 0
        for samples in self._steps():
            graph.push(None if samples is None else self._framed(samples))
            for made in _pulled(sink):
                yield Chunk(place, made)
                place += made.shape[1]

    def _graph(self) -> tuple[Any, Any]:
        graph = av.filter.Graph()
        layout = self._layout
        nodes = [graph.add_abuffer(sample_rate=self._rate, format="fltp", layout=layout)]
        nodes += [graph.add("atempo", repr(tempo)) for tempo in _tempos(self._tempo)]
        nodes.append(graph.add("aformat", "sample_fmts=fltp"))  # the filter lays channels side by side
        nodes.append(graph.add("abuffersink"))
        graph.link_nodes(*nodes).configure()
        return graph, nodes[-1]

    def _steps(self) -> Iterator[Samples | None]:
        """Yield the sound in order, and None after its end."""
        found, start = STEP, 0
        while found == STEP:
            step = np.zeros((self.channels, STEP), np.float32)
            found = self._reader.read_into(step, start)
            start += found
            if found:
                yield np.ascontiguousarray(step[:, :found])
        yield None

    def _framed(self, samples: Samples) -> av.AudioFrame:
        frame = av.AudioFrame.from_ndarray(samples, format="fltp", layout=self._layout)
        frame.sample_rate = self._rate
        return frame

    @property
    def _layout(self) -> str:
        return f"{self.channels}c"


def _pulled(sink: Any) -> Iterator[Samples]:
    while True:
        try:
            yield sink.pull().to_ndarray()
        except (av.error.BlockingIOError, av.error.EOFError):  # it wants more, or has no more
            return


def _tempos(tempo: Fraction) -> list[float]:
    """Return factors of `tempo`: `atempo` leaves samples out beyond 2, and goes down to 0.5."""
    steps = max(ceil(abs(log2(tempo))), 1)
    return [float(tempo) ** (1 / steps)] * steps
