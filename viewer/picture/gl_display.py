"""The desk's display: scan and master are read on threads of their own, chains are drawn by GL."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import replace
from fractions import Fraction
from functools import partial
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import Final

import msgspec
import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.known import NONE
from lamphouse.graph.chain.program import Program, as_scanned
from lamphouse.graph.grade.visibility import Visibility
from lamphouse.graph.media.working_copy.copy import WorkingCopy
from lamphouse.graph.media.working_copy.wanted import Wanted
from lamphouse.graph.reel.records import ChainRef, Cue, Reel
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.glsl.context import is_software
from lamphouse.viewer.glsl.opengl import GL
from lamphouse.viewer.models.copying import Copied
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.judged import Case, Mask
from lamphouse.viewer.models.monitors import MONITORS, SRGB
from lamphouse.viewer.models.record_asked import RecordAsked
from lamphouse.viewer.models.scanned import Frame
from lamphouse.viewer.models.seen import Picture, Textures
from lamphouse.viewer.models.sharpness import ShotSharpness
from lamphouse.viewer.models.surveyed import SurveyAsked, Surveyed
from lamphouse.viewer.picture.film_strip import FilmStrip
from lamphouse.viewer.picture.focus_search import FocusSearch
from lamphouse.viewer.picture.judging import Judge
from lamphouse.viewer.picture.master import MasterReader
from lamphouse.viewer.picture.meter import Meter
from lamphouse.viewer.picture.painter import Canvas, Painter, write_texture
from lamphouse.viewer.picture.reader import ROOM, Reader, threads_here
from lamphouse.viewer.picture.recorded import Recorded
from lamphouse.viewer.picture.surveying import Surveying
from lamphouse.viewer.picture.working import Working
from lamphouse.viewer.turn.compared import Shown
from lamphouse.viewer.turn.counting import Counted, counted
from lamphouse.viewer.turn.decide import Drawing, Region
from lamphouse.viewer.turn.display import Look, News, Place
from lamphouse.viewer.turn.wishes import Answer, Wish

EMPTY: Final = (0, 0)
COUNTED: Final = 1024  # pixels of width of which the scopes are at most while the film runs (our choice)


class GlDisplay:
    """A `Display` in the GL context that is current on its thread. `wake` is called on others."""

    def __init__(self, desk: Desk, wake: Callable[[], None]) -> None:
        self._desk, self._wake = desk, wake
        self.painter = Painter(has_shaders=not is_software(GL))
        self._answers: SimpleQueue[Answer] = SimpleQueue()
        scan = partial(desk.opened.open_scan, any_order=True)
        self._master = MasterReader(desk.reel, wake)
        self._has_small = False
        self.working = Working(desk.opened, wake)
        self._reader = Reader(scan, self._answered, threads=threads_here(), room=ROOM, copy=self._copy)
        self._film = FilmStrip(desk.opened, self._strip_changed, self._copy)
        self._meter = Meter(desk.opened, wake)
        self._focus = FocusSearch(desk.opened, wake)
        self._judge = Judge(desk.opened, wake)
        self._surveying = Surveying(desk.opened, wake)
        self._recorded = Recorded(wake, MONITORS[SRGB])
        self._named: dict[str, int] = {}

        self._programs: list[tuple[ChainRef, Program]] = []
        self._matte: tuple[ChainRef, str, ChainRef] | None = None
        self._unchanged = as_scanned(desk.reel.scan.colour)
        self._parade, self._plane, self._strip = _textures(3)
        self._frames: tuple[int, ...] = ()
        self._scopes_shown = False
        self._shown: dict[Place, int] = {}
        self._look: Look | None = None  # of the picture in the window
        self._found: Frame | None = None
        self._counter = ThreadPoolExecutor(1, thread_name_prefix="scopes")
        self._counting: Future[Counted] | None = None

    def close(self) -> None:
        """Let threads and GL objects go."""
        self._reader.close()
        self._master.close()
        self._film.close()
        self.working.close()
        self._meter.close()
        self._focus.close()
        self._judge.close()
        self._recorded.close()
        self._surveying.close()
        self._counter.shutdown(cancel_futures=True)
        self.painter.delete()
        GL.glDeleteTextures([self._parade, self._plane, self._strip, *self._named.values()])

    @property
    def textures(self) -> Textures:
        """What panels show."""
        parade, plane = (self._parade, self._plane) if self._scopes_shown else (0, 0)
        strip = self._strip if self._frames else 0
        is_there = self._look is not None and self.painter.graded.size != EMPTY
        named = self._named
        return Textures(is_there, parade=parade, plane=plane, strip=strip, named=named, **self._shown)

    @property
    def is_complete(self) -> bool:
        """Whether all that was asked for beside the scan has come."""
        others = (self._master, self._judge, self._recorded)
        return all(other.is_settled for other in others) and not self._film.lacks(self._frames)

    def small_width(self) -> int:
        """Return the width of one small picture of the strip."""
        return self._film.width

    def news(self) -> News:
        """Return what has been read since the last call."""
        newest: Answer | None = None
        while True:
            try:
                newest = self._answers.get_nowait()
            except Empty:
                break
        has_small, self._has_small = self._has_small, False
        master, judgement = self._master.take(), self._judge.take()
        others = has_small or self._meter.has_news() or self._focus.has_news() or self.working.has_news()
        record, texels = self._recorded.take()
        for name, picture in texels.items():
            self._write_named(name, picture)
        is_any = others or any(found is not None for found in (newest, master, judgement, record))
        return News(newest, has_small, master, judgement, record, is_any)

    def _write_named(self, name: str, texels: NDArray[np.uint8]) -> None:
        if name not in self._named:
            self._named = {**self._named, name: int(GL.glGenTextures(1))}
        write_texture(self._named[name], texels)

    def ask(self, wish: Wish) -> None:
        """Have a frame of the scan read."""
        self._reader.ask(wish)

    def follow_copy(self, wanted: Wanted, first: int) -> Copied:
        """Make the working copy of the scan, or leave off; return how far it has come."""
        return self.working.follow(wanted, first)

    def follow_survey(self, asked: SurveyAsked | None) -> Surveyed:
        """Have the scan measured and proposals made, or leave off; return what has come of it."""
        return self._surveying.follow(asked)

    def take(self, answer: Answer) -> None:
        """Write a frame's pictures into textures."""
        assert answer.found is not None
        self.painter.take(answer.found)
        self._found = answer.found

    def grade(self, drawing: Drawing) -> str:
        """Draw the graded picture; return why it cannot be drawn, or nothing."""
        reason = "The chain cannot be drawn ({}); undo the last change."
        return self._chain(self.painter.graded, drawing, reason)

    def draw_matte(self, drawing: Drawing, node: str) -> str:
        """Draw the matte of a node in a grade's chain; return why it cannot be drawn, or nothing."""
        known = self._matte
        if known is None or known[0] is not drawing.chain or known[1] != node:
            self._matte = known = drawing.chain, node, msgspec.structs.replace(drawing.chain, output=node)
        reason = "The matte cannot be drawn ({}); undo the last change."
        return self._chain(self.painter.matte, replace(drawing, chain=known[2]), reason)

    def ask_master(self, master: Path | None, wish: Wish | None) -> None:
        """Have a frame of a finished master read; with None nothing is any more."""
        self._master.ask(master, wish)

    def ask_judge(self, case: Case | None) -> None:
        """Have a delivered picture judged; with None nothing is any more."""
        self._judge.ask(case)

    def ask_record(self, asked: RecordAsked) -> None:
        """Have made ready what the record page shows."""
        self._recorded.ask(asked)

    def mark(self, beyond: Mask) -> None:
        """Take which pixels of the frame are striped."""
        self.painter.mark(beyond)

    def draw_other(self, shown: Shown) -> str:
        """Draw what the picture is compared with; return why it cannot be drawn, or nothing."""
        if isinstance(shown, Drawing):
            reason = "What the picture is compared with cannot be drawn ({}); choose another."
            return self._chain(self.painter.other, shown, reason)
        if shown.picture is not None:
            self.painter.other.write(shown.picture)
        return ""

    def read_other(self) -> Picture:
        """Return what was drawn of it."""
        return self.painter.other.read()

    def show(self, look: Look, place: Place = "picture") -> None:
        """Draw the picture as the monitor of that place is to show it."""
        if place != "picture" and self.painter.graded.size != EMPTY:
            self._shown[place] = self.painter.show(look, place)
        elif place == "picture":
            self._look = look
        if place == "picture" and self._film.monitor is not look.monitor:
            self._film.monitor, self._has_small = look.monitor, bool(self._frames)
            self._recorded.monitor = look.monitor

    def paint(self, height: int) -> None:
        """Draw the picture where it lies in the window that is bound."""
        if self._look is not None and self._look.corner is not None and self.painter.graded.size != EMPTY:
            self.painter.paint(self._look, height)

    def draw_strip(self, reel: Reel, frames: tuple[int, ...]) -> None:
        """Draw the strip's small pictures."""
        self._frames = frames
        write_texture(self._strip, self._film.drawn(reel, frames))

    def count(
        self, region: Region | None, delivered: Picture | None = None, *, is_waited: bool = True
    ) -> Counted | None:
        """Count the scopes of the graded picture, or of what is delivered."""
        if self.painter.graded.size == EMPTY or self._found is None:  # it could not be drawn even once
            return None
        found: Counted | None
        if is_waited:
            self._counting = None  # what is still being counted is of a picture before
            found = counted(self.painter.graded.read(), self._found.finest, region, delivered)
        else:
            found = self._counted_beside(self._found, region)
        if found is None:
            return None
        write_texture(self._parade, found.parade)
        write_texture(self._plane, found.plane)
        self._scopes_shown = True
        return found

    def _counted_beside(self, frame: Frame, region: Region | None) -> Counted | None:
        """Return what was counted on another thread since, and have it count the picture that is seen now."""
        if self._counting is not None and not self._counting.done():
            return None
        found = self._counting.result() if self._counting is not None else None
        graded, divide = self.painter.some_of_graded(COUNTED), frame.divide_to(COUNTED)
        self._counting = self._counter.submit(lambda: counted(graded, frame.picture(divide), region))
        return found

    def sharpness(self, shot: tuple[int, int] | None, frame: int) -> ShotSharpness | None:
        """Return what is known of a shot's sharpness, and have the rest measured; None: nothing is to be."""
        return self._focus.of(shot, frame)

    def measure(self, reel: Reel, cue: Cue, scanned: Picture) -> Visibility | None:
        """Return how visible the transition to a cue is; None until that is known."""
        return self._meter.of(reel, cue, scanned)

    def _chain(self, canvas: Canvas, drawing: Drawing, otherwise: str) -> str:
        """Draw a grade into a canvas; return why that cannot be, `otherwise` where nobody foresaw it."""
        expression, numbers = self._unchanged, NONE
        try:
            if drawing.settings is not None:
                program = self._ready(drawing.chain)
                expression, numbers = program.expression(drawing.settings), program.numbers(drawing.settings)
            aspect = float(Fraction(drawing.pixel_aspect))
            self.painter.draw(canvas, drawing.divide, expression, numbers, aspect)
        except BadInput as error:
            return str(error)
        except Exception as error:  # whatever a plug-in or a driver does, the desk lives on
            return otherwise.format(error)
        return ""

    def _ready(self, chain: ChainRef) -> Program:
        """Return the chain made ready. Raises BadInput for one that is not whole."""
        known = [program for of, program in self._programs if of is chain]
        program = known[0] if known else self._desk.opened.program(chain)
        if not known:
            self._programs = [(chain, program), *self._programs[:1]]  # that of the picture, and of its matte
        return program

    def _copy(self) -> WorkingCopy | None:
        return self.working.copy

    def _answered(self, answer: Answer) -> None:
        self._answers.put(answer)
        self._wake()

    def _strip_changed(self) -> None:
        self._has_small = True
        self._wake()


def _textures(count: int) -> list[int]:
    return [int(texture) for texture in GL.glGenTextures(count)]
