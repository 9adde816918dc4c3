"""Every picture of a master, corrected and in its codes, in order.

Where the scan's pixels are the master's, with black around them or none, a picture goes from the codes of
the one into the codes of the other in one step.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterator
from contextlib import closing
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.codes.encode_planes import Blank
from lamphouse.graph.media.codes.raster import fit, raster_of, window
from lamphouse.graph.media.master.lineup import bars, black
from lamphouse.graph.media.scan.read_ahead import Source, read_ahead
from lamphouse.graph.media.scan.scan import Scan
from lamphouse.graph.transfer.notes import PassNotes
from lamphouse.graph.transfer.plan import Plan
from lamphouse.graph.transfer.stages import Stages

Picture = NDArray[np.float32]


class Pictures:
    """Every picture of a master, filled in order into what `blank` gives."""

    def __init__(
        self,
        pass_: Plan,
        scan: Scan,
        grade: Grade,
        blank: Callable[[], Blank],
        *,
        stages: Stages,
        notes: PassNotes,
    ) -> None:
        self._pass, self._scan, self._grade = pass_, scan, grade
        self._blank, self._stages, self._notes = blank, stages, notes
        self._aspect = Fraction(pass_.reel.scan.pixel_aspect)
        self._window = window(scan.width, scan.height, self._aspect, pass_.delivery)

    def all(self, keep: int) -> Generator[Blank | None, None, None]:
        """Yield every picture of the master; None for the first `keep`, which are there already."""
        pass_, delivery = self._pass, self._pass.delivery
        shape = raster_of(delivery, self._scan.width, self._scan.height)
        yield from [None] * keep
        if keep < delivery.bars:
            yield from self._repeated(bars(*shape), delivery.bars - keep)
        yield from self._repeated(black(*shape), min(delivery.black_before, pass_.before - keep))
        yield from self._film(pass_.start + max(0, keep - pass_.before))
        yield from self._repeated(black(*shape), min(delivery.black_after, pass_.frames - keep))

    def _film(self, start: int) -> Iterator[Blank]:
        with closing(read_ahead(self._read, range(start, self._pass.stop))) as frames:
            for number, source in frames:
                yield self._corrected(number, source)

    def _read(self, frame: int) -> Source:
        with self._stages.during("decoding"):
            source = self._scan.read_coded(frame)
            self._notes.see(frame, source)
            return source

    def _corrected(self, number: int, source: Source) -> Blank:
        blank, grade, stages = self._blank(), self._grade, self._stages
        if self._window is not None:
            with stages.during("correction"):
                grade.correct_into(number, source, blank.part(*self._window), blank.coding)
            return blank
        with stages.during("correction"):
            picture = grade.correct(number, source)
        with stages.during("resizing"):
            picture = fit(picture, self._aspect, self._pass.delivery, grade.weighted)
        with stages.during("correction"):
            grade.encode_into(picture, blank.planes, blank.coding)
        return blank

    def _repeated(self, picture: Picture, count: int) -> Iterator[Blank]:
        first: Blank | None = None
        for _ in range(count):
            blank = self._blank()
            if first is None:
                first = blank
                self._grade.encode_into(picture, blank.planes, blank.coding)
            else:
                for plane, filled in zip(blank.planes, first.planes, strict=True):
                    np.copyto(plane, filled)
            yield blank
