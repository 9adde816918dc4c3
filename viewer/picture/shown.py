"""What is on the screen follows what the desk holds: read, drawn, counted, each only when it has changed."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from functools import partial
from queue import Empty, SimpleQueue
from typing import Any, Final

from lamphouse.graph.chain.known import NONE
from lamphouse.graph.chain.program import Program, as_scanned
from lamphouse.graph.reel import ChainRef
from lamphouse.graph.transfer import reel_scan
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.values import Settings
from lamphouse.viewer.glsl.opengl import GL
from lamphouse.viewer.models.comparison import SIDE
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.framing import area_of
from lamphouse.viewer.models.screen import Screen
from lamphouse.viewer.models.transport import Due
from lamphouse.viewer.picture.film_strip import FilmStrip, spread
from lamphouse.viewer.picture.meter import Meter
from lamphouse.viewer.picture.other import Other
from lamphouse.viewer.picture.painter import STATED, Canvas, Painter, write_texture
from lamphouse.viewer.picture.reader import Answer, Reader, Wish
from lamphouse.viewer.scopes.drawn import parade_drawn, plane_drawn
from lamphouse.viewer.scopes.limits import clipped, edges
from lamphouse.viewer.scopes.parade import histogram, parade
from lamphouse.viewer.scopes.region import pixels_of
from lamphouse.viewer.scopes.tones import tones
from lamphouse.viewer.scopes.vectorscope import vectorscope

PROXY_FROM: Final = 1300  # pixels of width from which a moving picture is read at half the raster
REST: Final = 250_000_000  # nanoseconds without a change after which the whole raster is read
BETWEEN: Final = 120_000_000  # nanoseconds from one counting of the scopes to the next while something moves


class Shown:
    """Keeps the screen's textures in step with the desk. One thread, the one with the GL context."""

    def __init__(self, desk: Desk, screen: Screen, wake: Callable[[], None]) -> None:
        self._desk, self._screen = desk, screen
        self.painter = Painter()
        self._answers: SimpleQueue[Answer] = SimpleQueue()

        def answered(answer: Answer) -> None:
            self._answers.put(answer)
            wake()

        self._reader = Reader(partial(reel_scan, desk.reel, desk.reel_file), answered)
        self._other = Other(desk, screen, self.painter.other, wake)
        self._film = FilmStrip(desk.reel, desk.reel_file, desk.catalogue, self._strip_changed)
        self._wake = wake
        self._program: tuple[ChainRef, Program] | None = None
        self._unchanged = as_scanned(desk.reel.scan.encoding)
        self._pixel_aspect = float(Fraction(desk.reel.scan.pixel_aspect))
        self._meter = Meter(desk.reel_file, desk.catalogue, wake)
        self._textures = _textures(3)
        screen.scopes.parade, screen.scopes.plane, screen.strip.texture = self._textures
        screen.stated = STATED
        self._wish: Wish | None = None
        self._due: Due | None = None
        self._drawn: Any = None
        self._frame = object()
        self._counted: Any = None
        self._strip: Any = None
        self._strip_is_old = True
        self._strip_waits = False
        self._said_of_scan = ""
        self._moved_at = self._counted_at = 0
        self._turned_at = -REST
        self._settings: Settings | None = None
        self._taken = 0
        self._is_coarse = False
        self._divided = 0

    def close(self) -> None:
        """Let threads and GL objects go."""
        self._reader.close()
        self._other.close()
        self._film.close()
        self._meter.close()
        self.painter.delete()
        GL.glDeleteTextures(self._textures)

    @property
    def is_settled(self) -> bool:
        """Whether everything on the screen is what the desk holds."""
        all_read = self._drawn is not None or bool(self._screen.trouble)
        lacks = self._strip is None or self._film.lacks(self._strip[0])
        is_old = self._strip_is_old or self._strip_waits or lacks
        return all_read and self._is_counted and not is_old and self._other.is_settled

    @property
    def _is_counted(self) -> bool:
        return self._drawn is None or self._counted == (self._drawn, self._screen.picture.region)

    def follow(self, now: int) -> None:
        """Bring the screen up to date as far as that goes without waiting."""
        self._ask(now)
        self._take()
        if not self.painter.is_empty:
            divide = self._draw(now)
            self._other.draw(divide, self._frame, self._chain)
            self._other.read()
            self._show()
        self._draw_strip(now)
        self._measure(now)

    def count(self, now: int) -> bool:
        """Count the scopes anew if it is time to; say whether they are others now.

        It is done once the picture is on the screen: the hand waits for that and not for the scopes.
        """
        if self._is_counted or now - self._counted_at < BETWEEN:
            return False
        self._counted, self._counted_at = (self._drawn, self._screen.picture.region), now
        if self.painter.graded.size == (0, 0):  # the chain could not be drawn even once
            return False
        scopes, picture = self._screen.scopes, self.painter.graded.read()
        self._screen.graded = picture
        region = pixels_of(self._screen.picture.region, picture)
        write_texture(scopes.parade, parade_drawn(parade(picture, region)))
        write_texture(scopes.plane, plane_drawn(vectorscope(picture, region=region)))
        scopes.histogram = histogram(picture, region).counts
        scopes.tones = tones(picture, region=region)
        after = clipped(picture, region)
        scopes.clipped = (after.low_any, after.high_any)
        if self._screen.scanned is not None:
            scanned = self._screen.scanned
            before = clipped(scanned, pixels_of(self._screen.picture.region, scanned))
            scopes.clipped_before = (before.low_any, before.high_any)
        return True

    def wait(self, now: int) -> int | None:
        """Return the nanoseconds after which there is something to do again, or None."""
        desk = self._desk
        waits = [desk.transport.wait(now), desk.recovery.wait(desk.reel, now)]
        if self._divided > 1:
            waits.append(max(0, self._moved_at + REST - now))
        if self._divided > 1 or self._is_coarse or self._strip_waits:
            waits.append(max(0, self._turned_at + REST - now))
        if not self._is_counted:
            waits.append(max(0, self._counted_at + BETWEEN - now))
        return min((w for w in waits if w is not None), default=None)

    def _ask(self, now: int) -> None:
        desk = self._desk
        due = desk.transport.due(now)
        desk.frame = due.frame
        is_large = desk.reel.scan.width >= PROXY_FROM
        if self._wish is None or desk.frame != self._wish.frame:
            self._moved_at = now
        at_rest = now - self._moved_at >= REST and not desk.transport.is_moving(now)
        wish = Wish(desk.frame, (1,) if not is_large else (2, 1) if at_rest else (2,))
        if wish != self._wish:
            self._wish, self._due = wish, due
            self._reader.ask(wish)
        self._other.ask(wish)

    def _take(self) -> None:
        newest: Answer | None = None
        while True:
            try:
                newest = self._answers.get_nowait()
            except Empty:
                break
        if newest is None:
            return
        self._screen.trouble = self._said_of_scan = newest.said
        if newest.pictures:
            for divide, picture in newest.pictures.items():
                self.painter.take(newest.wish.frame, divide, picture, newest.packed[divide])
            self._taken = newest.wish.frame
            self._divided = min(newest.pictures)
            self._screen.scanned = newest.pictures[self._divided]
            self._drawn = None
            self._frame = object()  # two frames may have the same settings
            if self._due is not None and self._due.frame == newest.wish.frame:
                self._desk.transport = self._desk.transport.seen(self._due)

    def _draw(self, now: int) -> int:
        """Draw the graded picture, and return what divides its raster."""
        settings = self._desk.settings
        if self._settings is not None and settings != self._settings:
            self._turned_at = now
        self._settings = settings
        # While a control is turned the coarser raster is drawn: it is quick, and the hand sees no difference.
        held = self.painter.held(self._taken)
        divide = held[-1] if now - self._turned_at < REST else held[0]
        wanted = (settings, self._desk.reel.chain, divide, self._frame)
        if self._drawn is not None and self._drawn == wanted:
            return divide
        self._is_coarse = divide != held[0]
        try:
            self._chain(self.painter.graded, divide, settings)
            self._screen.trouble = self._said_of_scan
        except BadInput as error:
            self._screen.trouble = str(error)
        except Exception as error:  # whatever a plug-in or a driver does, the desk lives on
            self._screen.trouble = f"The chain cannot be drawn ({error}); undo the last change."
        self._drawn = wanted
        return divide

    def _chain(self, canvas: Canvas, divide: int, settings: Settings | None) -> None:
        expression, numbers = self._unchanged, NONE
        if settings is not None:
            program = self._ready()
            expression, numbers = program.expression(settings), program.numbers(settings)
        self.painter.draw(canvas, divide, expression, numbers, self._pixel_aspect)

    def _ready(self) -> Program:
        """Return the chain made ready. Raises BadInput for one that is not whole."""
        desk, reel = self._desk, self._desk.reel
        if self._program is None or self._program[0] is not reel.chain:
            program = Program(reel.chain, reel.scan.encoding, desk.catalogue, desk.reel_file.parent)
            self._program = (reel.chain, program)
        return self._program[1]

    def _show(self) -> None:
        desk, view = self._desk, self._screen.picture
        if self.painter.graded.size == (0, 0):
            return
        area, comparison = area_of(desk, view), desk.comparison
        limits = edges() if self._screen.limits else (0.0, 0.0)
        seam = view.size[0] // 2 if comparison.way == SIDE else 0
        edge, part = comparison.edge(area.width / area.height), self._screen.other.part
        scale = self._screen.scale
        view.texture = self.painter.show(view.size, area, edge, limits, part=part, seam=seam, scale=scale)

    def _draw_strip(self, now: int) -> None:
        strip, desk = self._screen.strip, self._desk
        if strip.span[1] <= strip.span[0] + 1:
            return
        count = max(1, round(self._screen.strip_width / max(1.0, self._film.width * self._screen.scale)))
        frames = spread(strip.span, count, desk.reel.scan.frames)
        wanted = (frames, desk.reel)
        is_new = self._strip is None or wanted[0] != self._strip[0] or wanted[1] is not self._strip[1]
        # While a control is turned the small pictures wait: the hand looks at the large one.
        self._strip_waits = is_new and self._strip is not None and now - self._turned_at < REST
        if (is_new or self._strip_is_old) and not self._strip_waits:
            self._strip_is_old = False
            self._strip = wanted
            write_texture(strip.texture, self._film.drawn(desk.reel, frames))

    def _measure(self, now: int) -> None:
        cue, scanned = self._desk.holding, self._screen.scanned
        if cue is None or not cue.over or scanned is None or self._desk.transport.is_moving(now):
            self._screen.visible = None
        else:
            self._screen.visible = self._meter.of(self._desk.reel, cue, scanned)

    def _strip_changed(self) -> None:
        self._strip_is_old = True
        self._wake()


def _textures(count: int) -> list[int]:
    return [int(texture) for texture in GL.glGenTextures(count)]
