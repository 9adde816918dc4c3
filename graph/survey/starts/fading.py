"""What the dyes of a faded reel have lost, measured on the reel itself: all of it has faded alike.

A dye that has gone loses a share of its density everywhere (J. Wallace, Topics in Photographic Preservation
3 (1989) 151), so greys lie on a line whose slope is another in each channel; R. Gschwind and F. Frey, J.
Imaging Sci. Technol. 38 (1994) 520, undo it by such a line; both from memory. Ours: the line is measured on
each set-up of the reel. By day shadows are bluer than highlights, by dusk redder, so that red and blue alone
say nothing; where all set-ups agree, and green leaves the middle of red and blue, it is the film.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import log10
from typing import Final

import msgspec
import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.cues.settings import OFF, SWITCH
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.grade.patches import fading, reel_up_to
from lamphouse.graph.media.statistics.statistics import spread
from lamphouse.graph.reel.presets import preset_names, stock_preset
from lamphouse.graph.reel.records import NodeRef
from lamphouse.graph.survey.alone import alone
from lamphouse.graph.survey.look import Look
from lamphouse.graph.survey.starts.agreement import agreed
from lamphouse.graph.survey.starts.axis import Axis, followed
from lamphouse.graph.survey.starts.light import colours_of_light
from lamphouse.graph.survey.starts.setups import setups
from lamphouse.nodes.corrections.dye_fade import SIDES, absorptions
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.signals import DISPLAY_GAMMA
from lamphouse.nodes.values import Value

Array = NDArray[np.float64]

KIND: Final = "dye_fade"
LOOKED_AT: Final = 60  # set-ups
ENOUGH: Final = 6  # of them have a line of greys: fewer say nothing of a reel
PICTURES: Final = 2  # of each
BESIDE, TONES = 0.14, 1.0  # log2 of video: how far greys lie off their line at most, over how much at least
# Of the lines' slopes: what they differ by between set-ups at most, and by how much green leaves the middle.
# Photographs differ by 0.05 to 0.14 and lie at 0.01 to 0.02 in green; painted scenes of a day and a night
# differ by 0.2 to 0.4.
APART: Final = 0.15
GREEN: Final = 0.06
CERTAIN: Final = 4.0  # times what green's middle may be off by
MOST: Final = 80  # per cent of the set-ups: so many must agree
OF_SPREAD: Final = 1.2816  # times its spread: within it lie so many of a normal distribution
LIGHT, DARK = -0.3, -2.0  # log2 of video: the two greys that are taken from a line
DENSITY: Final = -DISPLAY_GAMMA * log10(2)  # of log2 of video
SURE: Final = 0.85
LEAST: Final = 0.02  # of a share: nearer to what is set, nothing is to be set


@dataclass(frozen=True, slots=True, eq=False)
class Fading:
    """The share of each dye that was kept and the stain, (3,), by the node that holds them."""

    node: str
    kept: Array
    stain: Array
    setups: int
    sure: float = SURE

    @property
    def settings(self) -> dict[str, Value]:
        """What is to be set."""
        return {
            f"{self.node}.{name}": tuple(round(float(number), 4) for number in numbers)
            for name, numbers in (("kept", self.kept), ("stain", self.stain))
        }

    @property
    def words(self) -> str:
        """What was measured, as the beginning of a sentence."""
        shown = ", ".join(f"{share:.0%}" for share in self.kept)
        return f"The reel has faded, {self.setups} set-ups agree: of cyan, magenta, yellow {shown} are left"


def measured_fading(look: Look) -> Fading | None:
    """Return what a reel's dyes have lost, where its set-ups agree and it is not what is set already."""
    node = next((ref for ref in look.opened.reel.chain.nodes if ref.kind == KIND), None)
    if node is None or not _is_free(look, node):
        return None
    lines = list(_lines(look, node))
    if len(lines) < ENOUGH or not _is_of_the_film(np.array([line.slope for line in lines])):
        return None
    dark, light = (
        DENSITY * np.median([tone + line.at + line.slope * tone for line in lines], axis=0)
        for tone in (DARK, LIGHT)
    )
    first = look.opened.settings(0)
    sides = {name: first[f"{node.name}.{name}"] for row in SIDES for name in row if name}
    try:
        kept, stain = fading(dark, light, absorptions(sides))
    except BadInput:
        return None
    near = np.abs(kept - np.array(first[f"{node.name}.kept"])).max() < LEAST
    return None if near else Fading(node.name, kept, stain, len(lines))


def _is_free(look: Look, node: NodeRef) -> bool:
    """Whether no person has said what this reel's dyes have lost: it is as a new reel has it, or a stock."""
    key = f"{node.name}.kept"
    set_ = [cue.settings[key] for cue in look.opened.reel.cues if key in cue.settings]
    begun = [stock_preset(name).settings.get(key) for name in preset_names("stocks")]
    is_off = any(cue.settings.get(f"{node.name}.{SWITCH}") == OFF for cue in look.opened.reel.cues)
    return not is_off and all(list(value) in begun for value in set_)


def _is_of_the_film(slopes: Array) -> bool:
    middle = np.median(slopes, axis=0)
    apart = np.percentile(np.abs(slopes - middle), MOST, axis=0) / OF_SPREAD
    green, error = abs(middle[1]), apart[1] / np.sqrt(len(slopes))
    return bool(apart.max() < APART and green > max(GREEN, CERTAIN * error))


def _lines(look: Look, node: NodeRef) -> Iterator[Axis]:
    """Yield the line of greys of each set-up that has one, before the node that is to undo it."""
    reel = msgspec.structs.replace(reel_up_to(node, look.opened.reel), cues=look.opened.reel.cues)
    groups = setups(look)
    with Grade(look.opened.with_reel(reel), threads=1) as grade:
        for number in spread(range(len(groups)), LOOKED_AT):
            seen = alone(look, groups[number][0])
            pictures = [
                grade.correct(frame, picture)
                for frame, picture in look.statistics.pictures(seen.start, seen.stop, PICTURES)
            ]
            if pictures and (line := _line(pictures)) is not None:
                yield line


def _line(pictures: list[NDArray[np.float32]]) -> Axis | None:
    pixels = np.concatenate([picture.reshape(3, -1) for picture in pictures], axis=1).astype(np.float64)
    cast, _ = agreed(colours_of_light(pictures))
    line = followed(pixels, cast / DISPLAY_GAMMA)
    return line if line is not None and line.off < BESIDE and line.tones > TONES else None
