"""What looks at the pictures of a master as they come: each form of a picture is made once, for all who look.

A watch sees every frame in its order, beside a pass or in a check of its own, and says at the end what it
found. Together they may take no more than a part of the time of decoding.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property
from typing import Any, Final, Protocol

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.check.findings import Finding, Names
from lamphouse.graph.media.codes.decode_planes import Coded, Coding, picked, to_rgb
from lamphouse.graph.media.codes.encode_planes import luma_of
from lamphouse.graph.media.codes.pixel_layout import Layout
from lamphouse.graph.media.codes.ycbcr import LUMA
from lamphouse.graph.media.statistics.view import View, over_grid

SMALL: Final = (36, 48)  # rows and columns of the small picture

Picture = NDArray[np.float32]


class Seen:
    """One frame of a master in its codes, of 8 to 16 bits. It is the watch's own only while it looks."""

    def __init__(self, coded: Coded) -> None:
        self.coded = coded
        self._picked: dict[int, Picture] = {}

    @property
    def planes(self) -> tuple[NDArray[Any], ...]:
        """A plane of each component, R'G'B' or Y'CbCr, as the file holds it; grey stands three times."""
        return self.coded.planes

    @property
    def layout(self) -> Layout:
        """How the codes lie in their samples."""
        return self.coded.layout

    @property
    def coding(self) -> Coding:
        """What the codes mean."""
        return self.coded.coding

    @cached_property
    def luma(self) -> NDArray[Any]:
        """Codes of Y', (h, w): those of the file, or float32 where it holds R'G'B' (by BT.709)."""
        planes, shift = self.planes, self.layout.shift
        if self.layout.family == "rgb":
            found: NDArray[Any] = luma_of(np.stack(planes).astype(np.float32), LUMA["bt709"])
            return found / np.float32(1 << shift) if shift else found
        return planes[0] >> shift if shift else planes[0]

    @property
    def step(self) -> int:
        """A step that picks some ten thousand pixels of any raster, at which others may pick them too."""
        return View(self.coded).step

    def rgb(self, step: int = 1) -> Picture:
        """R'G'B' of every `step`-th pixel each way, float32 (3, rows, columns), black 0 and white 1."""
        if step not in self._picked:
            self._picked[step] = to_rgb(self.coded) if step == 1 else picked(self.coded, step)
        return self._picked[step]

    @cached_property
    def small(self) -> Picture:
        """Means of R'G'B' over cells of the picture, picked here and there in each, float32 (3, 36, 48)."""
        return over_grid(self.rgb(self.step), SMALL)


class Watch(Protocol):
    """Looks at the pictures of a master, each once and in order."""

    def see(self, number: int, frame: Seen) -> None:
        """Look at the frame `number` of the master. Of `frame` nothing may be kept but what was copied."""

    def found(self, names: Names) -> Iterable[Finding]:
        """Return what was found, once all has been seen."""

    def said(self) -> Iterable[str]:
        """Return sentences on what was found good, and on how far that goes."""
