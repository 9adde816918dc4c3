"""The grade of a reel: any frame, corrected as its cues and tracks say."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing, contextmanager
from fractions import Fraction
from functools import cached_property, lru_cache
from types import TracebackType
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.back_end import open_run
from lamphouse.graph.chain.known import NONE, Inputs
from lamphouse.graph.chain.moving import MovingProgram
from lamphouse.graph.chain.numpy_run import Source
from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.chain.program import as_scanned
from lamphouse.graph.chain.rewrite import bind, simplify
from lamphouse.graph.cues.settings import CueList
from lamphouse.graph.files.digest import digest_of_contents
from lamphouse.graph.grade.program_sum import program_sum
from lamphouse.graph.media.codes.decode_planes import Coded
from lamphouse.graph.media.codes.encode_planes import Cut, PlaneCoding
from lamphouse.graph.media.codes.framing import NEUTRAL, Framing, framing_of
from lamphouse.graph.media.codes.resample import Slant, Taps
from lamphouse.graph.media.codes.straight import carry, is_straight
from lamphouse.graph.reel.records import Reel
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.colour_encoding import WORKING, ColourEncoding
from lamphouse.nodes.errors import BadInput, clause
from lamphouse.nodes.framing import FRAMING
from lamphouse.nodes.trace import PICTURE, PLACE, Expression, picture, walk
from lamphouse.nodes.values import Settings

READY: Final = 8  # programs kept, of cues and of what moves
_UNCHANGED: Final = picture(SCAN)


class Grade:
    """A reel's chain and cues made ready. Use as a context manager: it holds threads."""

    def __init__(self, opened: OpenedReel, threads: int | None = None) -> None:
        reel = opened.reel
        self._program = opened.program()
        self._colour = reel.scan.colour
        self._scanned = bind(as_scanned(self._colour), {})
        self._scanned_sum = program_sum(self._scanned, NONE, "")
        self._pixel_aspect = float(Fraction(reel.scan.pixel_aspect))
        self.controls = opened.controls()
        self.cues = CueList(reel.cues, self.controls, reel.tracks)
        for cue in self.cues.cues:
            if not 0 <= cue.frame < reel.scan.frames:
                raise BadInput(
                    f"The cue at frame {cue.frame} lies outside the reel, which has frames 0 to "
                    f"{reel.scan.frames - 1}; take it out of the reel's file."
                )
        self._run = open_run(threads)
        # A held setting is one object from frame to frame: its program is made once.
        self._held = lru_cache(maxsize=READY)(self._program_of_held)
        self._moving = lru_cache(maxsize=READY)(self._program_of_moving)
        self._delivered = lru_cache(maxsize=READY)(self._program_of_delivered)
        self._sum_of_held = lru_cache(maxsize=None)(self._checksum_of_held)
        self._framing_of_held = lru_cache(maxsize=READY)(lambda index: framing_of(self.cues.held(index)))
        self._files = tuple(path for ref in reel.chain.nodes for path in opened.catalogue.files(ref.kind))

    def __enter__(self) -> Grade:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._run.close()

    def program(self, frame: int) -> Expression:
        """Return the bound program, from the scan's codes to video signal, of `frame`."""
        if not self.cues.is_moving(frame):
            return self._held(self.cues.holding(frame))
        return self._bound(self.cues.at(frame))

    def checksum(self, frame: int, colour: ColourEncoding = WORKING) -> str:
        """Return a checksum of the maths that makes codes of `colour` from `frame`.

        Of equal ones the codes are equal.
        """
        if not self.cues.is_moving(frame):
            return self._sum_of_held(self.cues.holding(frame), colour)
        program, inputs = self._at(frame)
        found = program_sum(self._delivered(program, colour), inputs, self._opaque(self.cues.at(frame)))
        return _with_framing(found, self.framing(frame))

    def framing(self, frame: int) -> Framing:
        """Return how `frame` lies in the frame that is delivered."""
        if not self.cues.is_moving(frame):
            return self._framing_of_held(self.cues.holding(frame))
        return framing_of(self.cues.at(frame))

    def checksums(self, frames: Iterable[int], colour: ColourEncoding = WORKING) -> str:
        """Return a checksum of the maths that several frames, which one picture shows, are corrected by."""
        return "+".join(dict.fromkeys(self.checksum(frame, colour) for frame in frames))

    def files(self, frames: range) -> list[str]:
        """Return the files that the settings of `frames` name, as they name them."""
        keys = [key for key in self.controls.parameters if self.controls.is_file(key)]
        named = (str(settings[key]) for settings in self.cues.holding_in(frames) for key in keys)
        return list(dict.fromkeys(name for name in named if name))

    def prepare(self, frames: range) -> None:
        """Read every file that `frames` need, so that none is read again later, when it may have changed."""
        for settings in self.cues.holding_in(frames):
            self._program.expression(settings)

    def beyond_point(self, frame: int) -> list[str]:
        """Return the names of nodes that keep the program of `frame` out of a LUT, where they show."""
        steps = walk(self.program(frame))
        if not any(step.primitive == PLACE or step.whole for step in steps):
            return []
        return self._program.beyond_point()

    def correct(self, frame: int, picture: Source) -> NDArray[np.float32]:
        """Return the scan's `picture` of `frame` as video signal under the settings there.

        It is (3, ...), or in codes. Raises BadInput, with the frame, for what a plug-in makes of it that is
        no picture.
        """
        program, inputs = self._at(frame)
        with _told_at(frame):
            return np.asarray(self._run.run(program, {SCAN: picture}, self._pixel_aspect, inputs))

    def correct_into(
        self, frame: int, picture: Source, planes: Sequence[NDArray[Any]], coding: PlaneCoding
    ) -> Cut:
        """Write what `correct` returns into component planes of the same raster, in the coding's own colour.

        Where nothing is corrected, and the master holds the same components and means them as the scan does,
        the scan's codes are carried. Returns what is cut.
        """
        program, inputs = self._at(frame)
        program = self._delivered(program, coding.colour)
        if _is_unchanged(program) and isinstance(picture, Coded) and is_straight(picture, coding):
            carry(picture, planes, coding)
            keeps_all = coding.levels == "full" and picture.coding.range_ == coding.range_
            return Cut() if keeps_all else self._run.cut(picture, coding)
        aspect = self._pixel_aspect
        with _told_at(frame):
            return self._run.into(program, picture, planes, coding, pixel_aspect=aspect, inputs=inputs)

    def encode_into(
        self, picture: NDArray[np.float32], planes: Sequence[NDArray[Any]], coding: PlaneCoding
    ) -> Cut:
        """Write a corrected `picture` into component planes of the same raster, in the coding's colour.

        Returns what is cut.
        """
        return self._run.into(self._delivered(_UNCHANGED, coding.colour), picture, planes, coding)

    def hold(self, planes: Sequence[NDArray[Any]], coding: PlaneCoding) -> None:
        """Hold a whole picture in its codes within the levels of `coding`: see `hold.py`."""
        self._run.hold(planes, coding)

    def weighted(self, picture: NDArray[np.float32], taps: Taps | Slant, axis: int) -> NDArray[np.float32]:
        """Return weighted sums along an axis of a picture: see `resample.weighted`."""
        return np.asarray(self._run.weighted(picture, taps, axis))

    def _at(self, frame: int) -> tuple[Expression, Inputs]:
        holding, arriving = self.cues.holding(frame), self.cues.arriving(frame)
        if not self.cues.is_moving(frame):
            return self._held(holding), NONE
        settings = self.cues.at(frame)
        # What moves may rest at either end, and the way may lead through neutral (no cue's settings).
        for index in (holding, arriving, None):
            if settings == self.cues.held(index):
                return self._held(index), NONE
        tracked = frozenset(key.partition(".")[0] for key in self.cues.tracks.over(frame))
        moving = self._moving(holding, arriving, tracked)
        return moving.expression, moving.inputs(settings)

    def _program_of_held(self, index: int | None) -> Expression:
        return self._bound(self.cues.held(index))

    def _program_of_moving(
        self, holding: int | None, arriving: int | None, tracked: frozenset[str]
    ) -> MovingProgram:
        start = self.cues.held(holding)
        end = start if arriving is None else self.cues.held(arriving)
        return MovingProgram(self._program, start, end, tracked)

    def _program_of_delivered(self, program: Expression, colour: ColourEncoding) -> Expression:
        """Return a `program` to video signal with the way to codes of `colour` behind it.

        Where nothing is corrected, and codes mean the same in the scan, there is no way to go.
        """
        if program is self._scanned and colour == self._colour:
            return _UNCHANGED
        return simplify(colour.encoded(program), {}) if colour != WORKING else program

    def _checksum_of_held(self, index: int | None, colour: ColourEncoding) -> str:
        program = self._delivered(self._held(index), colour)
        found = program_sum(program, NONE, self._opaque(self.cues.held(index)))
        return _with_framing(found, self._framing_of_held(index))

    def _opaque(self, settings: Settings) -> str:
        """Return all that decides what a plain function does: its settings and its code."""
        own = sorted(item for item in settings.items() if not item[0].startswith(f"{FRAMING}."))
        return f"{own} {self._code}"

    @cached_property
    def _code(self) -> str:
        return digest_of_contents(list(self._files)) if self._files else ""

    def _bound(self, settings: Settings) -> Expression:
        program = bind(self._program.expression(settings), self._program.numbers(settings))
        return self._scanned if program_sum(program, NONE, "") == self._scanned_sum else program


def _with_framing(found: str, framing: Framing) -> str:
    """Return the checksum of a frame's maths with its framing in it; one that changes nothing leaves it."""
    if framing == NEUTRAL:
        return found
    return hashlib.sha256(f"{found} {framing.words}".encode()).hexdigest()[: len(found)]


def _is_unchanged(program: Expression) -> bool:
    return program.primitive == PICTURE and program.name == SCAN


def show_as_scanned(reel: Reel, picture: Source) -> NDArray[np.float32]:
    """Return the scan's `picture` as video signal without the chain: no plug-in has a part in it."""
    return show(picture, reel.scan.colour)


def show(picture: Source, colour: ColourEncoding) -> NDArray[np.float32]:
    """Return a `picture` of `colour`, (3, ...) or in codes, as video signal."""
    with closing(Shown(colour)) as shown:
        return shown.of(picture)


class Shown:
    """Pictures of `colour` as video signal, one after the other. It holds threads until it is closed."""

    def __init__(self, colour: ColourEncoding) -> None:
        self._run, self._program = open_run(), bind(as_scanned(colour), {})

    def of(self, picture: Source) -> NDArray[np.float32]:
        """Return a picture, (3, ...) or in codes, as video signal."""
        return np.asarray(self._run.run(self._program, {SCAN: picture}))

    def close(self) -> None:
        """Let the threads go."""
        self._run.close()


@contextmanager
def _told_at(frame: int) -> Iterator[None]:
    try:
        yield
    except BadInput as error:
        raise BadInput(f"Frame {frame}: {clause(error)}.") from error
