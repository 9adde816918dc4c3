"""The base of a negative, measured on the reel itself: nothing on it is thinner than unexposed film.

Ours: where some pictures are flat and as thin as any, they are leader or the film between shots, and their
density is the base's; else the least density that the reel shows is no more than a bound.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import msgspec
import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.grade.patches import density, reel_up_to
from lamphouse.graph.media.statistics.statistics import Statistics, spread
from lamphouse.graph.reel.records import NodeRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.survey.look import Look

KIND: Final = "film_base"
LOOKED_AT: Final = 400  # pictures of a reel
CLIPPED: Final = 0.985  # of the scan's signal: a hole, or film thinner than the scanner could see
FLAT: Final = 0.03  # of density: the spread of a picture of nothing
THIN: Final = 0.02  # of density: as thin as the thinnest
LEAST: Final = 0.02  # of density: nearer to what is set, nothing is to be set
FEWEST: Final = 3  # pictures of leader
SURE, BOUND = 0.9, 0.4


@dataclass(frozen=True, slots=True, eq=False)
class Base:
    """The density of a film's base, (3,), by the parameter that holds it, and how sure it is, 0..1."""

    key: str
    density: NDArray[np.float64]
    sure: float
    frame: int

    @property
    def settings(self) -> dict[str, tuple[float, ...]]:
        """What is to be set."""
        return {self.key: tuple(round(float(number), 4) for number in self.density)}

    @property
    def words(self) -> str:
        """What was measured, as the beginning of a sentence."""
        shown = ", ".join(f"{number:.2f}" for number in self.density)
        return f"The film base measures {shown} in density at frame {self.frame}"


def measured_base(look: Look) -> Base | None:
    """Return the base of a negative's film where it differs from what is set; None for any other chain."""
    opened = look.opened
    node = next((ref for ref in opened.reel.chain.nodes if ref.kind == KIND), None)
    first = opened.settings(0)
    if node is None or first[f"{node.name}.film"] != "negative":
        return None
    found = _thinnest(opened, node, look.statistics)
    key = f"{node.name}.base"
    if found is None or np.abs(found.density - np.array(first[key])).max() < LEAST:
        return None
    return found


def _thinnest(opened: OpenedReel, node: NodeRef, statistics: Statistics) -> Base | None:
    reel = msgspec.structs.replace(reel_up_to(node, opened.reel), cues=opened.reel.cues)
    frames = [n for n in spread(range(statistics.frames), LOOKED_AT) if statistics.rows["ok"][n]]
    whole = [(n, statistics.small(n)) for n in frames if statistics.small(n).max() < CLIPPED]
    if not whole:
        return None
    with Grade(opened.with_reel(reel), threads=1) as grade:
        seen = [(n, density(grade, n, small).reshape(3, -1)) for n, small in whole]
    least = np.min([np.percentile(d, 2, axis=1) for _, d in seen], axis=0)
    flat = [
        (n, np.median(d, axis=1))
        for n, d in seen
        if np.ptp(np.percentile(d, (5, 95), axis=1), axis=0).max() < FLAT
    ]
    thin = [(n, d) for n, d in flat if (d < least + THIN).all()]
    key = f"{node.name}.base"
    if len(thin) >= FEWEST:
        return Base(key, np.median([d for _, d in thin], axis=0), SURE, thin[0][0])
    return Base(key, least, BOUND, seen[int(np.argmin([d.mean() for _, d in seen]))][0])
