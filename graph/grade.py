"""The grade of a reel: any frame, corrected as its cues say."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from pathlib import Path
from types import TracebackType

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.numpy_run import NumpyRun
from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.chain.program import Program
from lamphouse.graph.chain.rewrite import bind
from lamphouse.graph.cues.settings import Controls, CueList
from lamphouse.graph.reel import Reel
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.trace import PLACE, Expression, walk
from lamphouse.nodes.values import Settings


class Grade:
    """A reel's chain and cues made ready. Use as a context manager: it holds threads.

    `folder` is where the reel lies: files that its settings name are relative to it.
    """

    def __init__(
        self, reel: Reel, catalogue: Catalogue, folder: Path = Path(), threads: int | None = None
    ) -> None:
        self._program = Program(reel.chain, reel.scan.encoding, catalogue, folder)
        self._pixel_aspect = float(Fraction(reel.scan.pixel_aspect))
        self.controls = Controls(reel.chain, catalogue)
        self.cues = CueList(reel.cues, self.controls)
        for cue in self.cues.cues:
            if not 0 <= cue.frame < reel.scan.frames:
                raise BadInput(
                    f"The cue at frame {cue.frame} lies outside the reel, which has frames 0 to "
                    f"{reel.scan.frames - 1}; take it out of the reel's file."
                )
        self._run = NumpyRun(threads)
        # A held setting is one object from frame to frame: its program is made once.
        self._held = lru_cache(maxsize=8)(self._program_of_held)

    def __enter__(self) -> Grade:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._run.close()

    def program(self, frame: int) -> Expression:
        """Return the bound program, from the scan's codes to video signal, of `frame`."""
        if self.cues.arriving(frame) is None:
            return self._held(self.cues.holding(frame))
        return self._bound(self.cues.at(frame))

    def beyond_point(self, frame: int) -> list[str]:
        """Return the names of nodes that keep the program of `frame` out of a LUT, where they show."""
        steps = walk(self.program(frame))
        if not any(step.primitive == PLACE or step.whole for step in steps):
            return []
        return self._program.beyond_point()

    def correct(self, frame: int, picture: NDArray[np.float32]) -> NDArray[np.float32]:
        """Return the scan's `picture` of `frame`, (3, ...), as video signal under the settings there."""
        return np.asarray(self._run.run(self.program(frame), {SCAN: picture}, self._pixel_aspect))

    def as_scanned(self, picture: NDArray[np.float32]) -> NDArray[np.float32]:
        """Return the scan's `picture` as video signal with every correction neutral."""
        neutral = self._bound(self.controls.neutral)
        return np.asarray(self._run.run(neutral, {SCAN: picture}, self._pixel_aspect))

    def _program_of_held(self, index: int | None) -> Expression:
        return self._bound(self.cues.held(index))

    def _bound(self, settings: Settings) -> Expression:
        return bind(self._program.expression(settings), self._program.numbers(settings))
