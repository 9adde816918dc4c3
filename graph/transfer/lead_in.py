"""What stands before and after the film of a master: which picture, what is on the slate, which sound."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.codes.encode_planes import Blank, encode_into
from lamphouse.graph.media.codes.raster import raster_of
from lamphouse.graph.media.master.burned import Burned
from lamphouse.graph.media.master.leader import LEAST, Facts, countdown, is_pip, slate, slate_height
from lamphouse.graph.media.master.lineup import bars, tone
from lamphouse.graph.reel.records import Delivery
from lamphouse.graph.reel.span import Span
from lamphouse.graph.time.footage import footage
from lamphouse.graph.time.rate import nominal, rate_words
from lamphouse.graph.time.timecode import timecode
from lamphouse.graph.transfer.plan import Plan
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.one_line import one_line

SCANNINGS = {
    "progressive": "progressive",
    "top-first": "interlaced, top field first",
    "bottom-first": "interlaced, bottom field first",
}


class LeadIn:
    """The pictures of a master that show no film."""

    def __init__(self, pass_: Plan) -> None:
        self._span, self._delivery = pass_.span, pass_.delivery
        self._facts = slate_facts(pass_)

    def moves(self, number: int) -> bool:
        """Say whether the picture of frame `number` is another than those beside it in its section."""
        return self._span.section(number) == "countdown"

    def fill(self, blank: Blank, number: int) -> None:
        """Fill the picture of frame `number`."""
        fills: dict[str, Callable[[], None]] = {
            "bars": lambda: self._bars(blank),
            "slate": lambda: slate(blank, self._facts),
            "countdown": lambda: countdown(blank, *_left(self._span, number)),
        }
        fills.get(self._span.section(number), blank.blacken)()

    def _bars(self, blank: Blank) -> None:
        rows, columns = blank.planes[0].shape
        # Signals of the delivery's own, whatever its primaries are.
        encode_into(bars(columns, rows, self._delivery.bars_form), blank.planes, blank.coding)


def lead_in_sound(
    span: Span, number: int, start: int, stop: int, *, channels: int
) -> NDArray[np.float32] | None:
    """Return the samples [start, stop) of frame `number`, which shows no film; None where it is silent."""
    delivery, section = span.delivery, span.section(number)
    sounds = section == "bars" or (section == "countdown" and is_pip(*_left(span, number)))
    if not sounds or delivery.sound is None:
        return None
    return tone(
        start,
        stop,
        delivery.sound.rate,
        channels,
        level=delivery.tone_level,
        marks_left=delivery.tone_ident == "left" and section == "bars",
    )


def has_tone(delivery: Delivery) -> bool:
    """Say whether anything before the film sounds."""
    return delivery.bars > 0 or delivery.countdown > 0


def _left(span: Span, number: int) -> tuple[int, int]:
    """Return how many frames are left before the film, and how many are counted as a second."""
    return span.before - number, nominal(span.rate)


def slate_facts(pass_: Plan) -> Facts:
    """Return what a slate says: of the reel and of its master, and never when or by whom it was made."""
    reel, delivery, span = pass_.reel, pass_.delivery, pass_.span
    width, height = raster_of(delivery, reel.scan.width, reel.scan.height)
    frames = pass_.stop - pass_.start
    length = timecode(len(span.film), span.rate, drops=span.drops)
    return (
        ("Reel", pass_.reel_name),
        ("Gauge", f"{reel.gauge}, {reel.rate} fps"),
        ("Length", f"{length}, {footage(frames, reel.gauge)}, {frames} frames"),
        ("Begins", span.timecode(span.before)),
        ("Video", f"{width}x{height}, {rate_words(span.rate)} fps, {SCANNINGS[delivery.scanning]}"),
        ("Coding", f"{delivery.codec} in {delivery.container}"),
        ("Sound", f"{delivery.sound.codec}, {delivery.sound.rate} Hz" if delivery.sound else "none"),
        ("Scan", one_line(reel.scan.path.rpartition("/")[2])),
        ("Made with", "Lamphouse"),
    )


def burned_in(pass_: Plan) -> Burned | None:
    """Return what is drawn into each frame of film; None where nothing is."""
    wanted = pass_.delivery.burn_in
    return Burned(wanted, pass_.span, pass_.reel_name) if wanted else None


def check_legible(pass_: Plan) -> None:
    """Raise BadInput where letters in the picture would be too small to be read."""
    scan = pass_.reel.scan
    raster = raster_of(pass_.delivery, scan.width, scan.height)
    burned = burned_in(pass_)
    heights = {
        "The readings": burned.height(*raster) if burned else LEAST,
        "The slate": slate_height(slate_facts(pass_), *raster) if pass_.delivery.slate else LEAST,
    }
    for what, height in heights.items():
        if height < LEAST:
            raise BadInput(
                f"{what} cannot be read in a picture of {raster[0]}x{raster[1]}; choose a larger raster or "
                "leave them out."
            )
