"""Reels, chains, grades, passes, proofs and checks for programs of your own: what `lamphouse.api` holds.

A place is a frame number, or text as the commands take it: timecode, feet+frames or a frame number. What a
person could put right raises `BadInput`, whose text is one sentence, and a check that failed `CheckFailed`.
What is worth knowing beside an answer stands in `notes`, or is a warning of the class `Note`.
"""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import ExitStack
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.edits.cues import cue_at, remove_cue, set_cue
from lamphouse.graph.edits.marks import put_mark
from lamphouse.graph.edits.start import Start, new_reel
from lamphouse.graph.grade.grade import Grade, show_as_scanned
from lamphouse.graph.media.scan.scan import Scan
from lamphouse.graph.progress import Step
from lamphouse.graph.reel.counters import Readings, counter
from lamphouse.graph.reel.records import Cue, Mark
from lamphouse.graph.reel.store import save_unless_changed, stored_path
from lamphouse.graph.reel_files.opened import OpenedReel, open_reel
from lamphouse.nodes.values import Settings

if TYPE_CHECKING:
    import networkx as nx

    from lamphouse.graph.check.findings import Findings

Place = int | str


class Reel:
    """A reel: the scan that it refers to, its chain, its cues and marks. Changes are kept by `save`."""

    def __init__(self, opened: OpenedReel, notes: tuple[str, ...] = ()) -> None:
        self._opened = self._saved = opened
        self.notes = notes  # of one that was started: what was taken for granted of its scan, in sentences

    @classmethod
    def open(cls, file: Path | str) -> Self:
        """Return the reel in a file. Raises BadInput with the file and the place in it."""
        return cls(open_reel(Path(file)))

    @classmethod
    def start(cls, file: Path | str, scan: Path | str, sound: Path | str | None = None, **said: Any) -> Self:
        """Write a new reel of a scan to `file`, where nothing is, and return it.

        `said` are the options of `lamphouse new` by their names: rate, gauge, encoding, chain, stock, matrix,
        range, shape, start, sound_rate, sound_offset, primaries. Raises BadInput for what cannot be.
        """
        said_of = Start(Path(scan), None if sound is None else Path(sound), **said)
        notes = new_reel(Path(file), said_of).notes
        return cls(open_reel(Path(file)), notes)

    @property
    def file(self) -> Path:
        """The file that holds it."""
        return self._opened.file

    @property
    def frames(self) -> int:
        """How many frames its scan has."""
        return self._opened.reel.scan.frames

    @property
    def size(self) -> tuple[int, int]:
        """Width and height of its scan in pixels."""
        return self._opened.reel.scan.width, self._opened.reel.scan.height

    @property
    def rate(self) -> Fraction:
        """Its frames a second."""
        return Fraction(self._opened.reel.rate)

    @property
    def cues(self) -> tuple[Cue, ...]:
        """Its cues, in the order of their frames; each holds its settings until the next."""
        return self._opened.reel.cues

    @property
    def marks(self) -> tuple[Mark, ...]:
        """Its marks, in the order of their frames."""
        return self._opened.reel.marks

    @property
    def chain(self) -> nx.DiGraph[str]:
        """Its chain as a graph of names, from `scan` to the corrections; `kind` of a node is what it does."""
        from lamphouse.graph.chain.order import chain_graph

        return chain_graph(self._opened.reel.chain)

    def frame(self, at: Place) -> int:
        """Return the number of the frame at a place. Raises BadInput for one outside the reel."""
        return counter(self._opened.reel).find(str(at))

    def readings(self, at: Place) -> Readings:
        """Return the three readings of a place: timecode, feet+frames, frame number."""
        return counter(self._opened.reel).readings(self.frame(at))

    def settings(self, at: Place) -> Settings:
        """Return the value of every `node.parameter` at a place, transitions and tracks included."""
        return self._opened.settings(self.frame(at))

    def cue(self, at: Place, settings: Mapping[str, Any] | None = None, **fields: Any) -> Cue:
        """Put a cue at a place, or change the one that stands there, and return it.

        `settings` are laid over those that hold there: `node.parameter` and its value, or text as it is typed
        after `--set`. `fields` are name, begins (cut or transition), length (frames of a transition), ease.
        Raises BadInput for what cannot be; then the reel is as it was.
        """
        controls, frame = self._opened.controls(), self.frame(at)
        given = {key: self._value(key, value) for key, value in (settings or {}).items()}
        if "length" in fields:
            fields = {"begins": "transition", **fields}
        self._change(set_cue(self._opened.reel, frame, controls, given, **fields))
        found = cue_at(self._opened.reel, frame)
        assert found is not None
        return found

    def remove_cue(self, at: Place) -> None:
        """Take the cue at a place out. Raises BadInput where there is none."""
        self._change(remove_cue(self._opened.reel, self.frame(at), self._opened.controls()))

    def mark(self, at: Place, name: str = "", *, frames: int = 1, note: str = "") -> None:
        """Mark a place, in place of the mark that stands there. Raises BadInput for one outside the reel."""
        mark = Mark(frame=self.frame(at), frames=frames, name=name, note=note)
        self._change(put_mark(self._opened.reel, mark))

    def save(self) -> None:
        """Write it to its file, whole or not at all; the version before stays as `NAME.reel.previous`.

        Raises BadInput where another program has changed the file meanwhile, or it cannot be written.
        """
        save_unless_changed(self.file, self._opened.reel, self._saved.reel)
        self._saved = self._opened

    def pictures(self) -> Pictures:
        """Return its pictures, as scanned and as graded, to be used as a context manager."""
        return Pictures(self._opened)

    def transfer(
        self,
        master: Path | str,
        delivery: str = "hd-ffv1",
        *,
        first: Place = 0,
        stop: Place | None = None,
        resume: bool = False,
        discard: bool = False,
        read_back: bool = True,
        step: Step | None = None,
        **asked: str,
    ) -> Transferred:
        """Make a master of the frames from `first` up to `stop`, which is not in it; else all.

        It is made of the reel as it is now, saved or not. `asked` are the options of `lamphouse transfer` by
        their names: rate, scanning, cadence, shape, pitch. `step` is called with the frames done and the
        frames in all. Raises BadInput for what cannot be made, CheckFailed where what comes back is not what
        was meant.
        """
        from lamphouse.graph.media.master.delivery import as_asked
        from lamphouse.graph.media.master.delivery import delivery as delivery_of
        from lamphouse.graph.transfer.plan import plan
        from lamphouse.graph.transfer.transfer import transfer

        counters = counter(self._opened.reel)
        end = self.frames if stop is None else counters.find(str(stop), end=True)
        made_as = as_asked(
            delivery_of(delivery, self._opened.reel.deliveries), f"delivery {delivery}", {**asked}
        )
        planned = plan(self._opened, made_as, self.frame(first), end)
        done = transfer(
            planned, Path(master), step or _silent, resume=resume, discard=discard, reads_back=read_back
        )
        return Transferred(
            done.path, planned.frames, done.found.sentence if done.found else "", tuple(done.notes)
        )

    def _value(self, key: str, value: Any) -> Any:
        controls = self._opened.controls()
        if controls.is_file(key) and value:
            return stored_path(self.file, Path(value))  # named from where the program runs
        return controls.parse(key, value) if isinstance(value, str) else value

    def _change(self, reel: Any) -> None:
        self._opened = self._opened.with_reel(reel)


@dataclass(frozen=True, slots=True)
class Transferred:
    """A master that is finished: where it lies, its frames of film, and what is to be known of it.

    `read_back` says what reading it back found; it is empty where that was left out.
    """

    path: Path
    frames: int
    read_back: str
    notes: tuple[str, ...]


class Pictures:
    """The pictures of a reel, (height, width, 3) float32: R'G'B' as a BT.1886 display takes them.

    Black is 0 and reference white 1; what lies beyond is not cut. They have the raster of the scan. Raise
    BadInput where a frame cannot be read. To be used as a context manager: it holds files and threads.
    """

    def __init__(self, opened: OpenedReel) -> None:
        self._opened, self._stack = opened, ExitStack()
        self._scan: Scan | None = None

    def __enter__(self) -> Self:
        with ExitStack() as stack:
            self._scan = stack.enter_context(self._opened.open_scan(any_order=True))
            self._grade = stack.enter_context(Grade(self._opened))
            self._stack = stack.pop_all()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._stack.close()

    def scanned(self, at: Place) -> NDArray[np.float32]:
        """Return the picture at a place as scanned."""
        return _last(show_as_scanned(self._opened.reel, self._read(self._frame(at))))

    def graded(self, at: Place) -> NDArray[np.float32]:
        """Return the picture at a place under the settings there; its framing is left to a delivery."""
        frame = self._frame(at)
        return _last(self._grade.correct(frame, self._read(frame)))

    def _frame(self, at: Place) -> int:
        return counter(self._opened.reel).find(str(at))

    def _read(self, frame: int) -> Any:
        if self._scan is None:
            raise ValueError("pictures are read within a `with` block")
        return self._scan.read(frame)


def verify(
    master: Path | str, reel: Reel | None = None, *, quick: bool = False, step: Step | None = None
) -> Findings:
    """Return what is wrong with a finished master, by its record; with a reel every frame is made again.

    `lines()` of the answer says it in sentences, `count` how many faults there are. Where it is `quick`
    nothing is decoded. Raises BadInput where there is no master, or no record of it.
    """
    from contextlib import nullcontext

    from lamphouse.graph.check.proof import prove
    from lamphouse.graph.transfer.stopping import never

    opened = None if reel is None else reel._opened
    return prove(Path(master), lambda _: nullcontext(step or _silent), never, opened, quick=quick)


def check(master: Path | str, *parts: str, step: Step | None = None, **limits: float | str) -> Findings:
    """Return what is wrong with the pictures, the sound and the facts of a finished master, whoever made it.

    `parts` are those of `lamphouse check --only`, all where none is named; `limits` its settings, with `_`
    for the dot: `levels_area=0.5`. A caution or a note is no fault. What is found good is guidance and no
    certificate. Raises BadInput for what cannot be read, and for a part or a limit that there is not.
    """
    from lamphouse.graph.check.check import check as look
    from lamphouse.graph.check.parts import parts_of
    from lamphouse.graph.check.settings import settings_of
    from lamphouse.graph.check.subject import subject_of
    from lamphouse.graph.transfer.stopping import never

    settings = settings_of(f"{name.replace('_', '.', 1)}={value}" for name, value in limits.items())
    return look(subject_of(Path(master), settings), parts_of(parts), step or _silent, never)


def _silent(done: int, total: int, limit: str = "", /) -> None:
    """Tell nobody how far it is."""


def _last(picture: NDArray[np.float32]) -> NDArray[np.float32]:
    return np.ascontiguousarray(np.moveaxis(picture, 0, -1))
