"""Signs of decay: dyes that have faded, so that in all of a reel one channel has lost its shadows.

A dye that fades loses the same share of its density everywhere: shadows take a colour and lose contrast
while the lights stay as they were, and of most print films of the 1950s to 1980s the cyan goes first (H.
Wilhelm and C. Brower, "The Permanence and Care of Color Photographs", 1993; National Film Preservation
Foundation, "The Film Preservation Guide", 2004; both from memory). A cast of light moves lights and shadows
alike; water moves the lights; film that was toned has no colours but one; what is warm in itself has less red
contrast, but not by so much in shot after shot. A scanner whose black of one channel lies too high looks
alike, and is named as well. The numbers are our choice.

Where the reel's chain has a dye fade and enough set-ups agree, what the starts give back is what is said here
too (`starts/fading.py`), also of dyes that have lost little; else each shot's channels are measured.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from lamphouse.graph.media.statistics.row import Rows
from lamphouse.graph.survey.alone import alone
from lamphouse.graph.survey.faults.decay import AGREE, CAUTION, SHOTS, SURE
from lamphouse.graph.survey.faults.light import light_of
from lamphouse.graph.survey.look import Look
from lamphouse.graph.survey.proposal import Proposal
from lamphouse.nodes.colour_encoding import ColourEncoding

FRAMES: Final = 8  # of a shot that are looked at
EDGE: Final = 2  # cells at each side that are left out: the gate's
ENDS: Final = (0.05, 0.95)  # shares of the cells between which a channel's range lies
CRUSHED: Final = 4  # of 255: a channel that is darker there has no shadows to measure
RANGE: Final = 0.5  # density, that the middle channel must have between them
KEPT: Final = 0.6  # of the range of the middle channel, that the least one has at most
SHADOWS: Final = 0.7  # of what it lacks, that it lacks in the shadows at least
COLOURS: Final = 0.04  # of the range, by which channels must differ beside that: else it is toned
LEAST_LIGHT: Final = 1e-5
DYES: Final = ("red", "green", "blue")


@dataclass(frozen=True, slots=True)
class Ranges:
    """Of a shot: the channel of the least range, and what share it has of that of the middle one.

    `shadows` is how much of what it lacks it lacks there; `colours` how far the channels differ otherwise.
    """

    least: int
    kept: float
    shadows: float
    colours: float

    @property
    def is_faded(self) -> bool:
        """Whether it looks as if a dye had faded."""
        return self.kept <= KEPT and self.shadows >= SHADOWS and self.colours >= COLOURS


def proposals(look: Look) -> Iterator[Proposal]:
    """Propose one mark on a reel whose dyes have faded, with what to take care of."""
    if look.fading is not None:
        kept = look.fading.kept / look.fading.kept.max()
        seen = f"In the greys of {look.fading.setups} set-ups"
        yield _proposal(look, DYES[int(kept.argmin())], float(kept.min()), seen)
    else:
        yield from _from_shots(look)


def _from_shots(look: Look) -> Iterator[Proposal]:
    rows, colour = look.statistics.rows, look.opened.reel.scan.colour
    found = [each for shot in look.shots if (each := ranges(rows[alone(look, shot)], colour)) is not None]
    if len(found) < SHOTS:
        return
    least = int(np.bincount([each.least for each in found]).argmax())
    faded = [each for each in found if each.is_faded and each.least == least]
    if len(faded) >= AGREE * len(found):
        seen = f"In most of {len(found)} shots"
        yield _proposal(look, DYES[least], float(np.median([each.kept for each in faded])), seen)


def ranges(rows: Rows, colour: ColourEncoding) -> Ranges | None:
    """Measure the channels of a shot, or return None where it has too little contrast to tell."""
    small = rows["small"][:: max(1, len(rows) // FRAMES), :, EDGE:-EDGE, EDGE:-EDGE]
    levels = small.transpose(1, 0, 2, 3).reshape(3, -1) / 255
    if np.quantile(levels, ENDS[0], axis=1).min() < CRUSHED / 255:
        return None
    light = light_of(levels.ravel(), colour).reshape(3, -1)
    density = -np.log10(np.maximum(light, LEAST_LIGHT))
    thin, thick = np.quantile(density, ENDS, axis=1)
    least, middle, _ = np.argsort(thick - thin)
    range_ = (thick - thin)[[least, middle]]
    if range_[1] < RANGE:
        return None
    lacks = range_[1] - range_[0]
    shadows = (thick[middle] - thick[least]) / max(lacks, 1e-6)
    scaled = (density[[least, middle]] - thin[[least, middle], None]) / np.maximum(range_, 1e-6)[:, None]
    apart = float(np.std(scaled[0] - scaled[1]))
    return Ranges(int(least), float(range_[0] / range_[1]), float(shadows), apart)


def _proposal(look: Look, channel: str, kept: float, seen: str) -> Proposal:
    lost = round(100 * (1 - kept))
    return Proposal(
        kind="faults",
        what="faded dyes",
        frame=look.shots[0].first,
        frames=look.shots[-1].stop - look.shots[0].first,
        sure=SURE,
        why=(
            f"{seen} {channel} lacks {lost} % of its density, in the shadows and not in "
            "the lights: the scanner's black is off, or a dye has faded, of which `lamphouse pick REEL AT "
            "fade` measures what can be given back, and heat and damp take more, so keep the film cold and "
            f"dry, and {CAUTION}."
        ),
        amount=lost,
        unit="%",
    )
