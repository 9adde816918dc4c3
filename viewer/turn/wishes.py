"""What is asked of whoever reads, and what comes back."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from lamphouse.viewer.models.transport import Due

Picture = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Wish:
    """A frame to be read, at each of the rasters that `divides` makes of the file's, in both directions.

    `due` is the picture of the motion that it is read for.
    """

    frame: int
    divides: tuple[int, ...] = (1,)
    due: Due | None = field(default=None, compare=False)


@dataclass(frozen=True, slots=True)
class Answer:
    """What a wish brought: the pictures (3, h, w) by what divided them, or why there are none."""

    wish: Wish
    pictures: dict[int, Picture]
    reason: str = ""
    packed: dict[int, NDArray[np.float16]] = field(default_factory=dict)  # as texels: nobody else need wait
