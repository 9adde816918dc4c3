"""The shots of a master as an event list in the form of SMPTE ST 258, one event a shot.

The text of the standard was not seen; its columns are those of public descriptions: the number of the event,
the reel in eight characters, the channel, the kind of edit, its length, four times; below it comments. Every
event is a cut: what passes at a transition of ours is the settings and never the picture, so a comment says
it. The form knows no rate, no mark and no CDL; comments carry them, the last two as the trade has them.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from pathlib import PurePath
from typing import Final

from lamphouse.graph.edits.marks import mark_text
from lamphouse.graph.handover.cue_cdl import CueCdl
from lamphouse.graph.handover.lists import words
from lamphouse.graph.handover.lists.shots import Shot, marks_in
from lamphouse.graph.reel.counters import Counter, counter
from lamphouse.graph.reel.records import Mark, Reel
from lamphouse.graph.reel.span import Span
from lamphouse.graph.time.rate import parse_rate
from lamphouse.nodes.cdl import Cdl, Triple
from lamphouse.nodes.one_line import one_line

NO_REELS: Final = ("", "BL", "BLACK", "BARS", "AX")  # what the form means by these is no reel
LINE_END: Final = "\r\n"  # from memory
TITLE_LENGTH: Final = 70  # characters; from memory
DIGITS: Final = 9  # of a number of a CDL after its point: no reader is known to take an exponent


def event_list(title: str, span: Span, shots: Iterable[Shot]) -> str:
    """Return the event list of a master: text in UTF-8, whose columns are ASCII.

    Source times are the reel's own readings, at its own rate; record times are those of the master. Times of
    the end are exclusive. From event 1000 on numbers take a fourth digit and one of the two blanks.
    """
    mode = "DROP FRAME" if span.drops else "NON-DROP FRAME"
    lines = [f"TITLE: {one_line(title)[:TITLE_LENGTH]}", f"FCM: {mode}"]
    lines += _Events(span).lines(tuple(shots))
    return "".join(f"{line}{LINE_END}" for line in lines)


def form_name(path: str) -> str:
    """Return the name of a scan as the form has room for it: up to eight of A to Z and 0 to 9."""
    plain = re.sub(r"[^A-Z0-9]", "", PurePath(path).stem.upper())[: words.REEL_LENGTH]
    return "SCAN" if plain in NO_REELS else plain


class _Events:
    def __init__(self, span: Span) -> None:
        self._span = span
        self._reel: Reel = span.reel
        self._counter: Counter = counter(span.reel)
        self._name = form_name(span.reel.scan.path)

    def lines(self, shots: tuple[Shot, ...]) -> Iterator[str]:
        for event, shot in enumerate((shot for shot in shots if shot.record), 1):
            yield self._event(event, shot)
            yield from self._below(event, shot)
        for shot in shots:
            if not shot.record:
                yield f"* {words.NOT_SHOWN}: {self._called(shot)}, no frame of the master shows it"

    def _event(self, event: int, shot: Shot) -> str:
        source = [self._counter.readings(at).timecode for at in (shot.source.start, shot.source.stop)]
        record = [self._span.timecode(at) for at in (shot.record.start, shot.record.stop)]
        number = f"{event:03}"
        return f"{number:<4} {self._name:<8} {'V':<5} {'C':<4} {'':3} {' '.join([*source, *record])}"

    def _below(self, event: int, shot: Shot) -> Iterator[str]:
        if len(shot.source) != len(shot.record):
            yield self._speed(shot)
        yield f"* FROM CLIP NAME: {one_line(PurePath(self._reel.scan.path).name)}"
        if event == 1:
            yield f"* {words.RECORD_RATE}: {self._span.rate}"
            yield f"* {words.SOURCE_RATE}: {parse_rate(self._reel.rate)}"
        if shot.cue is not None:
            yield f"* {words.CUE_NUMBER}: {shot.number}"
            if shot.cue.name:
                yield f"* {words.CUE}: {one_line(shot.cue.name)}"
        if shot.transition:
            yield f"* {words.TRANSITION}: {shot.transition} FRAMES, {_ease(shot)}"
        yield from cdl_comments(shot.cdl)
        yield from (self._locator(mark) for mark in marks_in(self._reel, shot.source))

    def _speed(self, shot: Shot) -> str:
        """Return the line that says how many frames of the source pass in a second."""
        start = self._counter.readings(shot.source.start).timecode.replace(";", ":")
        rate = float(self._span.cadence.running)
        return f"M2   {self._name:<8} {rate:05.1f} {'':15} {start}"

    def _called(self, shot: Shot) -> str:
        return f"{words.CUE_NUMBER} {shot.number}" if shot.cue else "WHAT LIES BEFORE THE FIRST CUE"

    def _locator(self, mark: Mark) -> str:
        place = self._span.timecode(self._span.number(mark.frame))
        kind = "" if mark.kind == "place" and mark.name else mark_text(mark)
        said = "  ".join(one_line(text) for text in (kind, mark.name, mark.note) if text)
        return f"* LOC: {place} {words.MARK_COLOUR:<7} {said}"


def cdl_comments(found: CueCdl | str) -> Iterator[str]:
    """Yield the comments that carry a CDL, or the one that says why there is none."""
    if isinstance(found, str):
        yield f"* {words.NO_CDL}: {one_line(found)}"
        return
    cdl: Cdl = found.cdl
    yield f"* ASC_SOP {_triple(cdl.slope)}{_triple(cdl.offset)}{_triple(cdl.power)}"
    yield f"* ASC_SAT {_number(cdl.saturation)}"
    yield f"* {words.CDL}: {one_line(found.exactness)}"


def _triple(numbers: Triple) -> str:
    return f"({' '.join(map(_number, numbers))})"


def _number(value: float) -> str:
    text = f"{value:.{DIGITS}f}".rstrip("0")
    return f"{text}0" if text.endswith(".") else text


def _ease(shot: Shot) -> str:
    ease = shot.cue.ease if shot.cue else ""
    return one_line(ease) if isinstance(ease, str) else "drawn"
