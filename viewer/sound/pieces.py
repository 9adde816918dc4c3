"""The part of a sound about the playhead, read in pieces by one thread and taken by another.

What is kept is one mapping that is replaced and never changed, so that the device's thread never waits.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

import numpy as np

from lamphouse.graph.media.sound.read import Places, SoundSource
from lamphouse.graph.media.sound.readers import Samples
from lamphouse.viewer.models.transport import SECOND, Transport
from lamphouse.viewer.sound.segment import Segment, segments_ahead

PIECES: Final = 2  # in a second of sound
AHEAD: Final = 6  # times, half a piece apart, that are looked ahead to


class Pieces:
    """A bounded number of pieces of `source`: those that will be heard next."""

    def __init__(self, source: SoundSource) -> None:
        self._source = source
        self._size = source.rate // PIECES
        self._pieces: dict[int, Samples] = {}

    def __len__(self) -> int:
        return len(self._pieces)

    def fetch(self, start: int, stop: int) -> Samples | None:
        """Return samples [start, stop), or None where one of them is not there."""
        pieces, first = self._pieces, start // self._size
        parts = [pieces.get(index) for index in range(first, -(-stop // self._size))]
        there = [part for part in parts if part is not None]
        if not there or len(there) < len(parts):
            return None
        joined = there[0] if len(there) == 1 else np.concatenate(there, axis=1)
        return joined[:, start - first * self._size : stop - first * self._size]

    def read_next(self, transport: Transport, now: int, places: Places, alone: Segment | None = None) -> bool:
        """Read the first piece that is wanted and not there; say whether there was one. May raise BadInput.

        Pieces that are no longer wanted are let go. `alone` is what is heard where nothing plays.
        """
        step = SECOND // PIECES // 2
        ahead = segments_ahead(transport, now, places, step, AHEAD) if alone is None else (alone,)
        wanted = self._wanted(ahead)
        lacking = next((index for index in wanted if index not in self._pieces), None)
        if lacking is None:
            return False
        piece = self._source.block(lacking * self._size, (lacking + 1) * self._size)
        kept = {index: piece for index, piece in self._pieces.items() if index in wanted}
        self._pieces = kept | {lacking: piece}
        return True

    def _wanted(self, segments: Iterable[Segment]) -> list[int]:
        """Return the pieces that will be heard, the first first, with what a fade or a wrap may touch."""
        half = self._size // 2
        found: dict[int, None] = {}
        for segment in segments:
            for off in (0, segment.way * half, -segment.way * half):
                found.setdefault((segment.sample + off) // self._size)
        return list(found)
