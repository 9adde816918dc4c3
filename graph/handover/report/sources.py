"""Where the page's pictures come from: the master, and the scan where it is still there."""

from __future__ import annotations

from contextlib import ExitStack
from types import TracebackType
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.back_end import open_run
from lamphouse.graph.chain.program import Program
from lamphouse.graph.cues.settings import CueList
from lamphouse.graph.grade.grade import Grade, Shown
from lamphouse.graph.grade.in_words import PlainWords
from lamphouse.graph.handover.report.small_pictures import small_raster
from lamphouse.graph.media.codes.framing import NEUTRAL, framing_of
from lamphouse.graph.media.codes.placing import placing_of
from lamphouse.graph.media.codes.resample import resize
from lamphouse.graph.media.master.colour import colour_of_pass
from lamphouse.graph.media.scan.scan import Scan
from lamphouse.graph.media.sound.facts import sound_notes
from lamphouse.graph.reel.span import Span
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.errors import BadInput, clause

Picture = NDArray[np.float32]
SMOOTH: Final = "triangle"  # of small pictures: nothing rings


class Sources:
    """The pictures of a reel and of its master by the reel's frames. Use as a context manager."""

    def __init__(self, opened: OpenedReel, span: Span, master: Scan) -> None:
        self._opened, self._span, self.master = opened, span, master
        self._stack = ExitStack()
        self._run = self._stack.enter_context(open_run())
        self._delivered = self._shown(Shown(colour_of_pass(span.delivery, opened.reel.scan)))
        self._scanned = self._shown(Shown(opened.reel.scan.colour))
        self._placing = placing_of(span.delivery, opened.reel)
        outer = self._placing.outer
        self.small = small_raster(outer.width, outer.height, float(outer.pixel_aspect))
        self.scan, self.notes = self._open_scan()
        self.controls = opened.controls()
        self.cues = self._cues()
        self.words = PlainWords(self._program(), self.controls)
        self.grade = self._grade()

    def __enter__(self) -> Sources:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._stack.close()

    def after(self, number: int) -> Picture:
        """Return frame `number` of the master as video signal. Raises BadInput where it cannot be read."""
        return self._delivered.of(self.master.read_coded(number))

    def before(self, frame: int) -> Picture | None:
        """Return `frame` of the scan, uncorrected, placed as in the master; None without the scan."""
        if self.scan is None:
            return None
        picture = self._scanned.of(self.scan.read_coded(frame))
        framing = framing_of(self.cues.at(frame)) if self.cues else NEUTRAL
        return self._placing.place(picture, framing, self._run.weighted)

    def scanned(self, frame: int) -> Picture | None:
        """Return the codes of `frame` of the scan, as a chain takes them; None without the scan."""
        return None if self.scan is None else self.scan.read(frame)

    def smaller(self, picture: Picture) -> Picture:
        """Return a picture of the master's raster as small as the page shows it at most."""
        return resize(picture, *self.small, SMOOTH, self._run.weighted)

    def _shown(self, shown: Shown) -> Shown:
        self._stack.callback(shown.close)
        return shown

    def _open_scan(self) -> tuple[Scan | None, tuple[str, ...]]:
        try:
            scan = self._stack.enter_context(self._opened.open_scan(any_order=True))
        except BadInput as error:
            return None, (f"The pictures are the master's alone, without the scan: {clause(error)}.",)
        return scan, (*scan.notes, *self._notes_of_sound())

    def _notes_of_sound(self) -> tuple[str, ...]:
        if (path := self._opened.sound_path) is None:
            return ()
        try:
            return sound_notes(path, self._opened.reel)
        except BadInput as error:  # a report of pictures is worth having
            return (str(error),)

    def _cues(self) -> CueList | None:
        reel = self._opened.reel
        try:
            return CueList(reel.cues, self.controls, reel.tracks)
        except BadInput as error:
            self.notes = (*self.notes, f"What the cues set cannot be told in words: {clause(error)}.")
            return None

    def _program(self) -> Program | None:
        try:
            return self._opened.program()
        except BadInput:  # a chain that is not whole: its settings are told by their own sentences
            return None

    def _grade(self) -> Grade | None:
        """Return the grade that transitions are measured in; None without the scan, or a whole chain."""
        if self.scan is None:
            return None
        try:
            return self._stack.enter_context(Grade(self._opened, threads=1))
        except BadInput:
            return None
