"""What is checked: a master with its record, or one from elsewhere with what its own file says."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

import av

from lamphouse.graph.check.findings import Names
from lamphouse.graph.check.looking import AS_STATED, Meant
from lamphouse.graph.check.settings import Settings
from lamphouse.graph.media.codes.ycbcr import LUMA
from lamphouse.graph.media.master.encoder import RANGE_TAGS
from lamphouse.graph.media.master.record import MasterRecord, load_record, record_path
from lamphouse.graph.media.master.stills_back import still_files
from lamphouse.graph.media.scan.movie_facts import duration_of, timecode_of
from lamphouse.graph.media.scan.opening import open_media
from lamphouse.graph.reel.records import Delivery
from lamphouse.graph.reel.span import Span
from lamphouse.graph.time.measured_rate import exact_rate
from lamphouse.graph.time.timecode import frame_of_timecode, timecode
from lamphouse.nodes.errors import BadInput, near_names
from lamphouse.nodes.one_line import one_line

USUAL: Final = Fraction(25)  # frames a second of stills that nothing is known of


@dataclass(frozen=True, slots=True)
class Subject:
    """A master that is checked; `frames` is 0 where it is not known how many it has.

    `span` is None for one from elsewhere, of which `meant` says what its codes mean and `codec` its coding.
    `record` is None for such a one, and while a pass goes on.
    """

    master: Path
    settings: Settings
    rate: Fraction
    frames: int
    names: Names
    span: Span | None = None
    record: MasterRecord | None = None
    meant: Meant = AS_STATED
    codec: str = ""

    @property
    def delivery(self) -> Delivery | None:
        """What it was made as, where that is known."""
        return self.span.delivery if self.span else None

    @property
    def is_interlaced(self) -> bool:
        """Whether it is known that its lines are those of two fields."""
        return self.delivery is not None and self.delivery.scanning != "progressive"


def subject_of(master: Path, settings: Settings, meant: Meant = AS_STATED) -> Subject:
    """Return what is known of `master` before it is decoded; `meant` is what its codes mean.

    Raises BadInput where there is none, where it is nothing that can be read, and where its record is none.
    """
    if not master.exists():
        raise BadInput(f"There is no master {master}; give the file or folder of a finished one.")
    if record_path(master).exists():
        record = load_record(master)
        return planned(master, record.span, settings, record)
    if master.is_dir():
        return Subject(master, settings, USUAL, len(still_files(master)), Names(None), meant=meant)
    try:
        return _elsewhere(master, settings, meant)
    except (av.FFmpegError, OSError) as error:
        reason = one_line(getattr(error, "strerror", None) or str(error))
        raise BadInput(f"{master} cannot be read ({reason}); give a finished master.") from error


def planned(master: Path, span: Span, settings: Settings, record: MasterRecord | None = None) -> Subject:
    """Return what is known of a master by what a pass makes of it, with its `record` once there is one."""
    return Subject(master, settings, span.rate, span.frames, Names(span), span, record)


def _elsewhere(master: Path, settings: Settings, meant: Meant) -> Subject:
    with open_media(master) as container:
        if not container.streams.video:
            raise BadInput(f"{master} holds no pictures; give a finished master.")
        stream: Any = container.streams.video[0]
        rate = exact_rate(stream.average_rate or stream.guessed_rate) or USUAL
        names = Names(None, counted_from(timecode_of(container), rate))
        seconds = duration_of(stream) or Fraction(container.duration or 0, 1_000_000)
        frames, codec = stream.frames or round(seconds * rate), stream.codec_context.name
        return Subject(master, settings, rate, frames, names, meant=meant, codec=codec)


def counted_from(start: str | None, rate: Fraction, number: int = 0) -> Callable[[int], str] | None:
    """Return what counts on from the timecode that frame `number` states; None where that is none."""
    drops = start is not None and ";" in start
    try:
        origin = frame_of_timecode(start or "", rate, drops=drops) - number
    except BadInput:
        return None
    return lambda number: timecode(origin + number, rate, drops=drops)


def meant_by(matrix: str | None, range_: str | None) -> Meant:
    """Return what codes mean as it was typed. Raises BadInput for words that there are not."""
    for what, given, known in (("matrix", matrix, LUMA), ("range", range_, RANGE_TAGS)):
        if given is not None and given not in known:
            raise BadInput(f"{given} is no {what}{near_names(given, known)}.")
    return Meant(matrix, range_)
