"""What is on the screen, as one fact: a frame of the scan, its grade, its scopes, what it is compared with.

The panels draw from it and change nothing of it: a turn of the desk makes another.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.grade.visibility import Visibility
from lamphouse.graph.media.codes.framing import Framing
from lamphouse.graph.scopes.tones import Tones
from lamphouse.viewer.models.hearing import HEARD, Hearing
from lamphouse.viewer.models.judged import Judgement
from lamphouse.viewer.models.scanned import Frame
from lamphouse.viewer.models.sharpness import ShotSharpness

Picture = NDArray[np.float32]  # (3, height, width) of video signal
Part = tuple[float, float, float, float]  # left, top, width, height in shares of a picture
FULL: Final = (0.0, 0.0, 1.0, 1.0)


@dataclass(frozen=True, slots=True, eq=False)
class OtherPicture:
    """What the graded picture is compared with: its signal, and where in it all of the unframed scan lies.

    Each equals itself alone.
    """

    picture: Picture | None = None  # None until the pointer asks for it
    part: Part | None = None  # None: there is none
    frame: int | None = None  # a master's own: it may come later than the scan's, or sooner
    framing: Framing | None = None  # how it lies in the frame; None: as the graded one does

    @property
    def is_framed(self) -> bool:
        """Whether the picture is of the frame already, as a master's is."""
        return self.frame is not None


@dataclass(frozen=True, slots=True)
class Scopes:
    """What was counted: of the graded picture, and what stands at its ends also of the scan."""

    histogram: NDArray[Any] | None = None
    tones: Tones | None = None
    clipped: tuple[float, float] = (0.0, 0.0)  # per cent at the lower and the upper end
    clipped_before: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Textures:
    """The numbers of the textures that panels show; 0 is nothing to be shown."""

    picture: bool = False  # whether the picture lies under the panels
    parade: int = 0
    plane: int = 0
    strip: int = 0
    alone: int = 0  # of the picture on a screen of its own
    loupe: int = 0
    named: Mapping[str, int] = field(default_factory=dict)  # of the record page


@dataclass(frozen=True, slots=True)
class Seen:
    """All that the panels show and that is not the reel's."""

    now: int = 0  # nanoseconds of the clock of the turn
    textures: Textures = Textures()
    found: Frame | None = None  # the frame as scanned
    graded: Picture | None = None  # what the scopes count
    scopes: Scopes = Scopes()
    is_late: bool = False  # whether those two are of another picture than the one that is shown
    other: OtherPicture = OtherPicture()
    judgement: Judgement | None = None  # of what is shown, once it has come
    sharpness: ShotSharpness | None = None  # of the shot that is seen, while the loupe is held over it
    visible: Visibility | None = None  # how visible the transition is that ends on the cue that holds
    stated: str = ""  # how the monitor is driven
    heard: Hearing = HEARD
    a_second: float | None = None  # pictures that are seen a second, while the film runs
    is_short: bool = False  # whether that is fewer than there are
    copied: str = ""  # how far the working copy has come
    surveyed: str = ""  # how far the scan is measured for the survey
    matched: str = ""  # how far a match is

    @property
    def scanned(self) -> Picture | None:
        """The frame as scanned, (3, h, w), made when somebody asks."""
        return self.found.finest if self.found else None
