"""Every picture of a master, corrected and in its codes, in order.

Where the scan's pixels are the master's, with black around them or none, and nothing is framed, a picture
goes from the codes of the one into the codes of the other in one step.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterable, Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import replace
from itertools import repeat
from typing import TYPE_CHECKING

import numpy as np

from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.codes.encode_planes import Blank, Cut
from lamphouse.graph.media.codes.framing import NEUTRAL
from lamphouse.graph.media.codes.placing import placing_of
from lamphouse.graph.media.scan.read_ahead import read_ahead
from lamphouse.graph.media.scan.scan import Scan
from lamphouse.graph.transfer.lead_in import LeadIn, burned_in
from lamphouse.graph.transfer.notes import PassNotes
from lamphouse.graph.transfer.plan import Plan
from lamphouse.graph.transfer.stages import Stages

if TYPE_CHECKING:
    from lamphouse.graph.media.scan.scan import Source


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
        self._placing = placing_of(pass_.delivery, pass_.reel)
        self._direct = self._placing.direct
        self._lead_in, self._burned = LeadIn(pass_), burned_in(pass_)

    def all(self, gaps: Iterable[range]) -> Generator[Blank | None, None, None]:
        """Yield every picture of the pass; None for those outside `gaps`, which are there already."""
        number = 0
        for gap in gaps:
            yield from repeat(None, gap.start - number)
            yield from self._made(gap)
            number = gap.stop
        yield from repeat(None, self._pass.frames - number)

    def _made(self, gap: range) -> Iterator[Blank]:
        span = self._pass.span
        for part in span.parts(self._pass.numbers[gap.start : gap.stop]):
            if span.shown(part.start):
                yield from self._film(part)
            else:
                yield from self._around(part)

    def _film(self, numbers: range) -> Iterator[Blank]:
        """Yield frames of the master; a film frame is corrected once, in however many it is shown."""
        span = self._pass.span
        film = range(span.shown(numbers[0])[0], span.shown(numbers[-1])[-1] + 1)
        made: dict[int, Blank] = {}
        with closing(read_ahead(self._read, film)) as sources:
            for number, wanted in ((number, span.shown(number)) for number in numbers):
                made = {frame: filled for frame, filled in made.items() if frame in wanted}
                is_repeated = wanted[0] in made
                while wanted[-1] not in made:
                    frame, source = next(sources)
                    if frame in wanted:
                        made[frame] = self.corrected(frame, source)
                if not (is_repeated or len(made) > 1 or self._burned):
                    yield made[wanted[0]]
                    continue
                blank = self._copied(made, wanted)
                if self._burned is not None:
                    self._burned.into(blank, number)
                    self._grade.hold(blank.planes, blank.coding)  # letters may lie over a strong colour
                yield blank

    def _copied(self, made: Mapping[int, Blank], wanted: Sequence[int]) -> Blank:
        """Return a picture of its own that shows what is wanted, in order of time: a frame, or two fields."""
        blank, fields = self._blank(), len(wanted)
        lines = [slice(start, None, fields) for start in range(fields)]
        if self._pass.delivery.scanning == "bottom-first":
            lines.reverse()
        for part, frame in zip(lines, wanted, strict=True):
            for plane, filled in zip(blank.planes, made[frame].planes, strict=True):
                np.copyto(plane[part], filled[part])
        cuts = [made[frame].cut for frame in wanted]
        return replace(blank, cut=Cut(*(sum(ends) // fields for ends in zip(*cuts, strict=True))))

    def _read(self, frame: int) -> Source:
        with self._stages.during("decoding"):
            source = self._scan.read_coded(frame)
            self._notes.see(frame, source)
            return source

    def corrected(self, number: int, source: Source) -> Blank:
        """Return a frame of the film, filled: corrected, placed and held within the delivery's levels."""
        blank, grade, stages = self._blank(), self._grade, self._stages
        framing = grade.framing(number)
        if self._direct is not None and framing == NEUTRAL:
            with stages.during("correction"):
                cut = grade.correct_into(number, source, blank.part(*self._direct), blank.coding)
        else:
            with stages.during("correction"):
                picture = grade.correct(number, source)
            with stages.during("resizing"):
                picture = self._placing.place(picture, framing, grade.weighted)
            with stages.during("correction"):
                cut = grade.encode_into(picture, blank.planes, blank.coding)
        with stages.during("correction"):
            grade.hold(blank.planes, blank.coding)
        return replace(blank, cut=cut)

    def _around(self, numbers: range) -> Iterator[Blank]:
        """Yield frames of the master before or after the film, all of one section."""
        last: Blank | None = None
        for number in numbers:
            blank = self._blank()
            if last is None or self._lead_in.moves(number):
                self._lead_in.fill(blank, number)
            else:
                for plane, filled in zip(blank.planes, last.planes, strict=True):
                    np.copyto(plane, filled)
            last = blank
            yield blank
