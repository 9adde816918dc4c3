"""The shots of a master as the page shows them: each cue as far as it holds, before and after."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from lamphouse.graph.cues.words import beginning_text, track_text
from lamphouse.graph.edits.marks import mark_text
from lamphouse.graph.grade.in_words import value_words
from lamphouse.graph.grade.visibility import of_transition_in, sampled
from lamphouse.graph.handover.report.plots import Curve, Plots, curve_of, plots_of
from lamphouse.graph.handover.report.small_pictures import Inline, held, room_of_a_shot
from lamphouse.graph.handover.report.sources import Picture, Sources
from lamphouse.graph.progress import Step
from lamphouse.graph.reel.counters import Readings, counter
from lamphouse.graph.reel.records import Cue, Reel
from lamphouse.graph.reel.span import Span
from lamphouse.nodes.describe import range_text
from lamphouse.nodes.errors import BadInput, clause


@dataclass(frozen=True, slots=True)
class Stretch:
    """Frames [first, stop) of the reel that a cue holds within a master; `index` is None before the first.

    `steady` is where the transition into the next begins.
    """

    index: int | None
    first: int
    stop: int
    steady: int

    @property
    def shown(self) -> int:
        """The frame that stands for it, in the middle of what holds."""
        return (self.first + max(self.steady, self.first + 1)) // 2


@dataclass(frozen=True, slots=True)
class Seen:
    """One picture of a shot, its scopes, and which frame of the scan or of the master it is."""

    picture: Inline
    plots: Plots
    frame: int


@dataclass(frozen=True, slots=True)
class Number:
    """One setting: what it is called, what it does, its value, and what it may be."""

    key: str
    what: str
    value: str
    range: str


@dataclass(frozen=True, slots=True)
class Shot:
    """All that the page says of one shot."""

    number: int
    name: str
    place: Readings
    frames: int
    share: float  # where it begins, of the film in the master, 0 to 1
    begins: str
    words: tuple[str, ...]
    numbers: tuple[Number, ...]
    tracks: tuple[str, ...]
    marks: tuple[str, ...]
    before: Seen | None
    after: Seen | None
    trouble: str
    curve: Curve | None


def stretches(reel: Reel, first: int, stop: int) -> Iterator[Stretch]:
    """Yield what each cue holds of the frames [first, stop), and what stands before the first cue."""
    cues = reel.cues
    begins = [0, *(cue.frame for cue in cues)]
    for number, begin in enumerate(begins):
        coming = cues[number] if number < len(cues) else None
        end = coming.frame if coming else max(stop, begin)
        steady = end - (coming.length if coming and coming.begins == "transition" else 0)
        start, until = max(begin, first), min(end, stop)
        if start < until:
            yield Stretch(number - 1 if number else None, start, until, min(max(steady, start), until))


def shots(sources: Sources, span: Span, step: Step | None = None) -> Iterator[Shot]:
    """Yield the shots of a master in their order; `step` is told how many are shown."""
    found = list(stretches(span.reel, span.first, span.stop))
    room = room_of_a_shot(len(found))
    for number, stretch in enumerate(found):
        if step is not None:
            step(number, len(found))
        yield _Making(sources, span, stretch, number + 1, room).shot()


def setting_numbers(sources: Sources, settings: Any) -> Iterator[Number]:
    """Yield the settings that are not neutral, each with what it may be."""
    controls = sources.controls
    for key, value in settings.items():
        if value != controls.neutral[key]:
            p = controls.parameters[key]
            yield Number(key, p.sentence, value_words(p, value), range_text(p))


@dataclass(frozen=True, slots=True)
class _Making:
    """One shot while it is made ready."""

    sources: Sources
    span: Span
    stretch: Stretch
    number: int
    room: int

    @property
    def cue(self) -> Cue | None:
        index = self.stretch.index
        return None if index is None else self.span.reel.cues[index]

    def shot(self) -> Shot:
        cue, span, stretch, sources = self.cue, self.span, self.stretch, self.sources
        settings = sources.cues.held(stretch.index) if sources.cues else sources.controls.neutral
        before, after, trouble = self._pictures()
        return Shot(
            number=self.number,
            name=_name(cue, stretch, bool(span.reel.cues)),
            place=counter(span.reel).readings(stretch.first),
            frames=stretch.stop - stretch.first,
            share=(span.number(stretch.first) - span.film.start) / max(len(span.film), 1),
            begins=beginning_text(cue) if cue else "",
            words=sources.words.of(settings),
            numbers=tuple(setting_numbers(sources, settings)),
            tracks=tuple(self._tracks()),
            marks=tuple(self._marks()),
            before=before,
            after=after,
            trouble=trouble,
            curve=self._curve(),
        )

    def _pictures(self) -> tuple[Seen | None, Seen | None, str]:
        frame, number = self.stretch.shown, self.span.number(self.stretch.shown)
        before = after = None
        trouble = ""
        try:
            after = self._seen(self.sources.after(number), number)
            before = self._seen(self.sources.before(frame), frame)
        except BadInput as error:  # one frame that cannot be read is no reason to have no page
            trouble = f"A picture is missing here: {clause(error)}."
        return before, after, trouble

    def _seen(self, picture: Picture | None, frame: int) -> Seen | None:
        if picture is None:
            return None
        small = self.sources.smaller(picture)
        return Seen(held(small, self.room * 2 // 5), plots_of(picture, self.room // 20), frame)

    def _tracks(self) -> Iterator[str]:
        for track in self.span.reel.tracks:
            if track.is_on and track.frame < self.stretch.stop and self.stretch.first < track.stop:
                parameter = self.sources.controls.parameters.get(track.parameter)
                what = parameter.sentence.rstrip(".") if parameter else track.parameter
                yield f"Moved from frame to frame ({track_text(track)}): {what}."

    def _marks(self) -> Iterator[str]:
        counters = counter(self.span.reel)
        for mark in self.span.reel.marks:
            if self.stretch.first <= mark.frame < self.stretch.stop:
                name = f" ({mark.name})" if mark.name else ""
                at = counters.readings(mark.frame).timecode
                yield f"{at}: {mark_text(mark)}{name}. {mark.note}".strip()

    def _curve(self) -> Curve | None:
        cue, grade = self.cue, self.sources.grade
        if cue is None or cue.begins != "transition" or cue.length < 1 or grade is None:
            return None
        try:
            picture = self.sources.scanned(cue.frame - cue.length // 2)
            if picture is None:
                return None
            rate = counter(self.span.reel).rate
            return curve_of(of_transition_in(grade, cue, sampled(picture), rate))
        except BadInput:  # a frame that cannot be read, a file that is gone: said where the pictures are
            return None


def _name(cue: Cue | None, stretch: Stretch, has_cues: bool) -> str:
    if cue is None:
        return "Before the first cue" if has_cues else "The whole reel"
    return cue.name or f"cue {(stretch.index or 0) + 1}"
