"""A reel of chance in memory: its frames, one after the other, and the truth about them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.demo.canvas import Raster
from lamphouse.graph.demo.seeds.film import SeededFilm
from lamphouse.graph.demo.seeds.pictures import Pictures
from lamphouse.graph.demo.seeds.plan import plan
from lamphouse.graph.demo.seeds.records import Truth
from lamphouse.graph.demo.seeds.roll import SeededPlan
from lamphouse.graph.demo.seeds.told import truth
from lamphouse.graph.demo.seeds.wear import Worn, worn


@dataclass(frozen=True, eq=False)
class SeededRoll:
    """The reel of one number. Several reels may share the `pictures` of the clean film."""

    roll: SeededPlan
    truth: Truth
    wear: Worn
    pictures: Pictures

    def frames(self) -> Iterator[NDArray[np.uint16]]:
        """Yield the codes of every frame, (3, height, width), 0..1023, in `video`: always the same."""
        return SeededFilm(self.roll, self.wear, self.pictures).frames()


def raster_of(width: int) -> Raster:
    """Return the raster, 4:3, of a reel so many pixels wide."""
    return Raster(width, round(width * 3 / 8) * 2)


def seeded(number: int, width: int, shorten: int = 1, pictures: Pictures | None = None) -> SeededRoll:
    """Return the reel of a number, `width` pixels wide (even), its shots `shorten` times shorter."""
    raster = raster_of(width)
    roll = plan(number, width, shorten)
    wear = worn(roll, raster)
    return SeededRoll(roll, truth(roll, wear, raster), wear, pictures or Pictures(raster))
