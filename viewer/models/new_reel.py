"""A reel that is being started: what its scan is, what a person has chosen so far, and what follows from it.

All of it is found by what `lamphouse new` does, on threads, anew after each choice.
"""

from __future__ import annotations

import re
import shlex
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, fields, replace
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.installed import installed
from lamphouse.graph.chain.numpy_run import NumpyRun
from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.chain.rewrite import bind
from lamphouse.graph.edits.start import Start, Started, new_reel, reel_from, start_reel
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.graph.media.scan.scan import STILLS, Scan
from lamphouse.graph.media.scan.still_sequence import NUMBERED
from lamphouse.graph.progress import Step
from lamphouse.graph.reel.presets import preset_names
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.time.rate import rate_words
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.browsing import REEL
from lamphouse.viewer.models.scanned import smaller
from lamphouse.viewer.models.work import Work

WIDE: Final = 200  # pixels of a small picture, at least, where the scan has as many
NO_STOCK: Final = ""
MOST_NAMES: Final = 100  # that are tried for a new reel
_OPTION: Final = re.compile(r"--([a-z]+(?:-[a-z]+)*)")
_OPTIONS: Final = {"range": "--range", "sound_rate": "--sound-rate", "sound_offset": "--sound-offset"}

Picture = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Facts:
    """What a scan is, by its file alone."""

    frames: int
    width: int
    height: int
    bits: int
    rate: Fraction | None
    timecode: str | None
    pixel_aspect: Fraction
    has_sound: bool
    is_stills: bool
    stated: tuple[str, ...]  # what is irregular in it, or was assumed of it
    checked: tuple[str, ...]  # what looking at every frame has found

    def lines(self, rate: str | None) -> tuple[tuple[str, str], ...]:
        """Return names and words of it, with how long it lasts at its own rate, or at one that is given."""
        runs = None
        with suppress(ValueError, ZeroDivisionError):
            runs = self.rate if rate is None else Fraction(rate)
        shape = "" if self.pixel_aspect == 1 else f", pixels {self.pixel_aspect} as wide as high"
        return (
            ("raster", f"{self.width} x {self.height}{shape}"),
            ("codes", f"{self.bits} bits" + (", a file for each frame" if self.is_stills else "")),
            ("rate", f"{rate_words(self.rate)} fps" if self.rate else "not stated"),
            ("length", f"{self.frames} frames" + (f", {_lasting(self.frames, runs)}" if runs else "")),
            ("timecode", self.timecode or "none"),
            ("sound", "in the same file" if self.has_sound else "none in it"),
        )


@dataclass(frozen=True, slots=True)
class Tryout:
    """The scan's frame under one stock, as video (3, h, w), or why it cannot be."""

    stock: str
    picture: Picture | None
    reason: str = ""


class NewReel:
    """What a person chooses for a new reel of `scan`. `wake` is called on other threads."""

    def __init__(self, scan: Path, wake: Callable[[], None]) -> None:
        self.start = Start(scan)
        self.file = str(proposed(scan))
        self.facts: Facts | None = None
        self.started: Started | None = None
        self.message = ""
        self.made: Path | None = None  # the reel, once it is written
        self.wants_keyboard = True  # whether the first choice is to have it, once it is there
        self.frame = 0  # of the scan, that the small pictures show
        self.tryouts: dict[str, Tryout] = {}
        self._wake = wake
        self._look: Work[Facts] = Work(wake)
        self._try: Work[Started] = Work(wake)
        self._draw: Work[dict[str, Tryout]] = Work(wake)
        self._make: Work[Started] = Work(wake)
        self.look()

    def look(self) -> None:
        """Look through the scan, from its beginning."""
        self.message, start = "", self.start
        self._look.begin(lambda step: _facts(start, step))

    def close(self) -> None:
        """Let the threads go."""
        for work in (self._look, self._try, self._draw, self._make):
            work.close()

    @property
    def is_busy(self) -> bool:
        """Whether anything is being read or made."""
        return any(work.is_under_way for work in (self._look, self._try, self._draw, self._make))

    @property
    def is_looking(self) -> bool:
        """Whether the scan is still being looked through."""
        return self._look.is_under_way

    @property
    def is_making(self) -> bool:
        """Whether the reel is being made."""
        return self._make.is_under_way

    @property
    def progress(self) -> tuple[int, int]:
        """How far looking through the scan, or making the reel, has come."""
        return (self._make if self.is_making else self._look).progress

    @property
    def notes(self) -> tuple[str, ...]:
        """What is to be known of the scan, and of what was taken for granted once all is chosen."""
        if self.started is not None:
            return self.started.notes
        return (*self.facts.stated, *self.facts.checked) if self.facts is not None else ()

    @property
    def command(self) -> str:
        """The command that makes the same reel."""
        return command_line(Path(self.file), self.start)

    def choose(self, **choices: Any) -> None:
        """Take what a person chose; empty text leaves it to us."""
        taken: dict[str, Any] = {name: value or None for name, value in choices.items()}
        now = replace(self.start, **taken)
        if now == self.start:
            return
        codes_change = any(name in ("matrix", "range") for name in choices)
        self.start = now
        if codes_change:
            self.look()
        else:
            self._follow()

    def show_frame(self, frame: int) -> None:
        """Show another frame of the scan in the small pictures."""
        if self.facts is not None:
            self.frame = max(0, min(frame, self.facts.frames - 1))
            self._draw_again()

    def save_as(self, file: str) -> None:
        """Take where the reel is to be."""
        if file != self.file:
            self.file = file
            self._follow()

    def make(self) -> None:
        """Write the reel."""
        self.message = ""
        file, start, facts = self.reel_file, self.start, self.facts
        checked = facts.checked if facts else None
        self._make.begin(lambda step: new_reel(file, start, step, checked))

    @property
    def reel_file(self) -> Path:
        """Where the reel is to be, with the ending that reels have."""
        file = Path(self.file.strip()).expanduser()
        return file if file.suffix == REEL else file.with_name(file.name + REEL)

    def stop(self) -> None:
        """Stop what is under way."""
        self._look.stop()
        self._make.stop()

    def take_news(self) -> bool:
        """Take what the threads have brought; say whether it was anything."""
        has_news = self._look.take_progress() or self._make.take_progress()
        if (looked := self._look.take()) is not None:
            has_news, self.message = True, looked.reason
            if looked.result is not None:
                self._take_facts(looked.result)
        if (tried := self._try.take()) is not None:
            has_news, self.started, self.message = True, tried.result, tried.reason
        if (drawn := self._draw.take()) is not None:
            has_news = True
            self.tryouts = drawn.result or {}
        if (made := self._make.take()) is not None:
            has_news, self.message = True, made.reason
            self.made = self.reel_file if made.result is not None else None
        return has_news

    def _take_facts(self, facts: Facts) -> None:
        if self.facts is None:
            self.frame = facts.frames // 2
        self.facts = facts
        self._follow()

    def _follow(self) -> None:
        """Find anew what follows from the choices."""
        if self.facts is None:
            return
        file, start, checked = self.reel_file, self.start, self.facts.checked
        self._try.begin(lambda step: start_reel(file, start, step, checked))
        self._draw_again()

    def _draw_again(self) -> None:
        file, start, frame = self.reel_file, self.start, self.frame
        self._draw.begin(lambda step: drawn(file, start, frame, step))


def proposed(scan: Path) -> Path:
    """Return where a reel of a scan could be: beside it, under its name, where nothing is yet."""
    numbered = NUMBERED.fullmatch(scan.name) if scan.suffix.lower() in STILLS else None
    name = (numbered["prefix"] if numbered else scan.stem).rstrip("._- ") or scan.parent.name
    names = (scan.with_name(f"{name}{n}{REEL}") for n in ("", *(f"-{n}" for n in range(2, MOST_NAMES))))
    return next((path for path in names if not path.exists()), scan.with_name(f"{name}{REEL}"))


def _facts(start: Start, step: Step) -> Facts:
    with open_scan(start.scan, matrix=start.matrix, range_=start.range, step=step) as scan:
        return Facts(
            frames=scan.frames,
            width=scan.width,
            height=scan.height,
            bits=scan.bits,
            rate=scan.rate,
            timecode=scan.timecode,
            pixel_aspect=scan.pixel_aspect,
            has_sound=scan.has_sound,
            is_stills=scan.is_stills,
            stated=scan.notes,
            checked=scan.check_all(step),
        )


def drawn(reel_file: Path, start: Start, frame: int, step: Step) -> dict[str, Tryout]:
    """Return a frame of the scan, small, under each stock by its name, under none, and as scanned.

    Raises BadInput where the frame cannot be read.
    """
    found: dict[str, Tryout] = {}
    stocks = [NO_STOCK, *preset_names("stocks")]
    start = replace(start, sound=None, sound_rate=None, sound_offset=None)
    with (
        open_scan(start.scan, matrix=start.matrix, range_=start.range, step=step) as scan,
        NumpyRun(1) as run,
    ):
        whole = scan.read(frame)
        small = smaller(whole, max(1, whole.shape[2] // WIDE))
        for n, stock in enumerate(stocks):
            step(n, len(stocks))
            chain = start.chain if stock in (start.stock or NO_STOCK, NO_STOCK) else None
            with_stock = replace(start, stock=stock or None, chain=chain, rate=start.rate or "24")
            found[stock] = _tryout(reel_file, with_stock, scan, small, run)
    return found


def _tryout(reel_file: Path, start: Start, scan: Scan, small: Picture, run: NumpyRun) -> Tryout:
    stock = start.stock or NO_STOCK
    try:
        opened = OpenedReel(reel_file, reel_from(reel_file, start, scan), installed())
        program, settings = opened.program(), opened.settings(0)
        bound = bind(program.expression(settings), program.numbers(settings))
        picture = run.run(bound, {SCAN: small}, float(scan.pixel_aspect))
    except BadInput as error:
        return Tryout(stock, None, str(error))
    return Tryout(stock, np.asarray(picture, np.float32))


def command_line(reel_file: Path, start: Start) -> str:
    """Return the command that starts the same reel, as a shell takes it."""
    words = ["lamphouse", "new", str(reel_file)]
    for field in fields(start):
        value = getattr(start, field.name)
        if value is not None and (value != field.default or field.name == "scan"):
            words += [_OPTIONS.get(field.name, f"--{field.name}"), str(value)]
    return shlex.join(words)


def spoken(sentence: str) -> str:
    """Return a sentence of the command line for a page, where what is an option there is a field."""
    return _OPTION.sub(lambda option: option[1].replace("-", " "), sentence)


def _lasting(frames: int, rate: Fraction) -> str:
    seconds = round(frames / rate)
    return f"{seconds // 3600}:{seconds // 60 % 60:02}:{seconds % 60:02}"
