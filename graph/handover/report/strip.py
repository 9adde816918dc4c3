"""The whole film as a picture: small frames in a row, and where its cues, transitions and marks lie on it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Final

from lamphouse.graph.edits.marks import WORDS
from lamphouse.graph.handover.report.small_pictures import Inline, as_jpeg, fitting, image_of, small_raster
from lamphouse.graph.handover.report.sources import Sources
from lamphouse.graph.reel.records import Mark, Reel
from lamphouse.graph.reel.span import Span
from lamphouse.nodes.errors import BadInput

if TYPE_CHECKING:
    from PIL.Image import Image

FRAMES: Final = 20  # in the row
WIDTH: Final = 96  # pixels of each, at most
ROOM: Final = 160_000  # bytes
GREY: Final = (110, 110, 110)  # of a frame that cannot be read


@dataclass(frozen=True, slots=True)
class Spot:
    """Something that lies on the film: where it begins and how long it is, in shares of the film."""

    kind: str  # cue, transition, or a kind of mark
    start: float
    length: float
    words: str


@dataclass(frozen=True, slots=True)
class Strip:
    """The picture of the whole film, and what lies on it in order."""

    picture: Inline
    spots: tuple[Spot, ...]


def strip_of(sources: Sources, span: Span) -> Strip | None:
    """Return the strip of a master; None where it shows no film."""
    if not span.film:
        return None
    count = min(FRAMES, len(span.film))
    numbers = [span.film.start + (2 * n + 1) * len(span.film) // (2 * count) for n in range(count)]
    row = _row([_small(sources, number) for number in numbers], sources)
    made = [partial(as_jpeg, row, 1.0, quality) for quality in (82, 70, 55, 40)]
    return Strip(fitting(made, ROOM), tuple(sorted(_spots(span), key=lambda spot: spot.start)))


def _small(sources: Sources, number: int) -> Image | None:
    try:
        return image_of(sources.smaller(sources.after(number)))
    except BadInput:
        return None


def _row(images: Sequence[Image | None], sources: Sources) -> Image:
    from PIL import Image

    width, height = small_raster(*sources.small, 1.0, WIDTH)
    row = Image.new("RGB", (width * len(images), height), GREY)
    for number, image in enumerate(images):
        if image is not None:
            row.paste(image.resize((width, height)), (number * width, 0))
    return row


def _spots(span: Span) -> Iterator[Spot]:
    reel = span.reel

    def spot(kind: str, first: int, stop: int, words: str) -> Iterator[Spot]:
        first, stop = max(first, span.first), min(stop, span.stop)
        if first < stop:
            numbers = span.numbers(first, stop)
            start = (numbers.start - span.film.start) / len(span.film)
            yield Spot(kind, start, len(numbers) / len(span.film), words)

    for cue in reel.cues:
        yield from spot("cue", cue.frame, cue.frame + 1, cue.name)
        if cue.begins == "transition":
            yield from spot("transition", cue.frame - cue.length, cue.frame, cue.name)
    for mark in reel.marks:
        yield from spot(mark.kind, mark.frame, mark.frame + mark.frames, mark_words(reel, mark))


def mark_words(reel: Reel, mark: Mark) -> str:
    """Return what a mark is and is called, in a line."""
    return f"{WORDS[mark.kind]} {mark.name}".strip()
