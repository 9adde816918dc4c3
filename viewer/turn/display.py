"""What carries a turn out: a display of pictures, and the surface on which the panels are drawn.

The desk's own read files and draw by GL and ImGui. A test's compute by the definition.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, Protocol

from lamphouse.graph.grade.visibility import Visibility
from lamphouse.graph.media.working_copy.wanted import Wanted
from lamphouse.graph.reel.records import Cue, Reel
from lamphouse.viewer.colours import SURROUND_CODE
from lamphouse.viewer.models.commands.command import Inputs
from lamphouse.viewer.models.comparison import FAR, Edge
from lamphouse.viewer.models.copying import Copied
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.frame import PLAIN, Lie
from lamphouse.viewer.models.guides import Line
from lamphouse.viewer.models.hearing import Hearing
from lamphouse.viewer.models.judged import Case, Judgement, Mask
from lamphouse.viewer.models.monitors import MONITORS, SRGB, Monitor
from lamphouse.viewer.models.panels import Area, Panels
from lamphouse.viewer.models.record_asked import RecordAsked, RecordFound
from lamphouse.viewer.models.seen import Picture, Seen, Textures
from lamphouse.viewer.models.sharpness import ShotSharpness
from lamphouse.viewer.models.surveyed import SurveyAsked, Surveyed
from lamphouse.viewer.turn.compared import MasterFrame, Shown
from lamphouse.viewer.turn.counting import Counted
from lamphouse.viewer.turn.decide import Drawing, Region
from lamphouse.viewer.turn.wishes import Answer, Wish

Paint = Callable[[int], None]  # draws into the window that is bound, so many pixels high

# Where the picture is shown: in the desk's window, alone on a screen, or magnified under the pointer.
Place = Literal["picture", "alone", "loupe"]
MatteSeen = Literal["", "over", "alone"]


@dataclass(frozen=True, slots=True)
class News:
    """What others brought since the last turn: the newest of scan, master and judge, and of whom else."""

    scan: Answer | None = None
    strip: bool = False
    master: MasterFrame | None = None
    judgement: Judgement | None = None
    record: RecordFound | None = None
    is_any: bool = False


@dataclass(frozen=True, slots=True)
class Look:
    """How the frame is seen: where in the window, how pictures lie in it, and what is marked on it."""

    size: tuple[int, int]
    area: Area
    edge: Edge
    limits: tuple[float, float] = (0.0, 0.0)
    is_judged: bool = False  # whether what was marked is striped, and not what is outside limits
    lie: Lie = PLAIN
    other: Lie | None = PLAIN  # None: there is nothing to compare with
    seam: int = 0
    scale: float = 1.0
    monitor: Monitor = MONITORS[SRGB]
    surround: int = SURROUND_CODE  # the code of the monitor about the frame
    lines: tuple[Line, ...] = ()  # over it, in pixels
    matte: MatteSeen = ""  # how the matte that was drawn is seen
    is_nearest: bool = False  # whether pixels are shown as they are, nothing between them
    moves: bool = False  # whether another picture follows at once
    corner: tuple[int, int] | None = None  # where it begins in the window, from its top left; None: not there

    @property
    def is_passing(self) -> bool:
        """Whether the graded picture alone is seen, as it is, and for a moment."""
        return self.moves and not (self.compares or self.marks or self.is_nearest or self.matte)

    @property
    def compares(self) -> bool:
        """Whether anything can be seen of what the picture is compared with."""
        return self.seam > 0 or self.edge[2] < FAR

    @property
    def marks(self) -> bool:
        """Whether pixels are striped."""
        return self.limits[0] < self.limits[1]


def unpainted(height: int) -> None:
    """Draw nothing."""


class Display(Protocol):
    """Reads, draws and counts pictures. On one thread; those who read wake the desk from theirs."""

    @property
    def textures(self) -> Textures:
        """What panels show; 0 for what has not been drawn yet."""

    @property
    def is_complete(self) -> bool:
        """Whether all that was asked for beside the scan has come."""

    def small_width(self) -> int:
        """Return the width of one small picture of the strip."""

    def news(self) -> News:
        """Return what has been read since the last call."""

    def ask(self, wish: Wish) -> None:
        """Have a frame of the scan read; the newest wish wins."""

    def follow_copy(self, wanted: Wanted, first: int) -> Copied:
        """Make the working copy, from frame `first` on, or leave off; return how far it has come."""

    def follow_survey(self, asked: SurveyAsked | None) -> Surveyed:
        """Have the scan measured and proposals made, or with None leave off; return what has come of it."""

    def take(self, answer: Answer) -> None:
        """Take the pictures of a frame as those that are graded from now on."""

    def grade(self, drawing: Drawing) -> str:
        """Draw the graded picture; return why it cannot be drawn, or nothing."""

    def draw_matte(self, drawing: Drawing, node: str) -> str:
        """Draw the matte of a node in a grade's chain; return why it cannot be drawn, or nothing."""

    def ask_master(self, master: Path | None, wish: Wish | None) -> None:
        """Have a frame of a finished master read; with None nothing is any more."""

    def ask_judge(self, case: Case | None) -> None:
        """Have a delivered picture judged; with None nothing is any more."""

    def ask_record(self, asked: RecordAsked) -> None:
        """Have made ready what the record page shows."""

    def mark(self, beyond: Mask) -> None:
        """Take which pixels of the frame (h, w) are striped while that is what `show` is asked for."""

    def draw_other(self, shown: Shown) -> str:
        """Draw what the picture is compared with; return why it cannot be drawn, or nothing."""

    def read_other(self) -> Picture:
        """Return what was drawn of it."""

    def show(self, look: Look, place: Place = "picture") -> None:
        """Draw the picture as the monitor of that place shows it; in the window that waits for `paint`."""

    def paint(self, height: int) -> None:
        """Draw the picture into the desk's window, which is bound and `height` pixels high, where it lies."""

    def draw_strip(self, reel: Reel, frames: tuple[int, ...]) -> None:
        """Draw the strip's small pictures; those that are lacking are read."""

    def count(
        self, region: Region | None, delivered: Picture | None = None, *, is_waited: bool = True
    ) -> Counted | None:
        """Count the scopes of the graded picture, or of what is delivered; None where nothing could be drawn.

        The `region` is in shares of the picture that is counted. Where it is not waited for, another thread
        counts, and what comes, if anything, is of the picture at an earlier call.
        """

    def sharpness(self, shot: tuple[int, int] | None, frame: int) -> ShotSharpness | None:
        """Return what is known of a shot's sharpness, and have the rest measured; None: nothing is to be."""

    def measure(self, reel: Reel, cue: Cue, scanned: Picture) -> Visibility | None:
        """Return how visible the transition to a cue is; None until that is known."""


class Surface(Protocol):
    """Draws the panels, and says what the hand did."""

    def begin(self) -> Inputs:
        """Begin a drawing; return what came since the last."""

    def draw(self, desk: Desk, panels: Panels, seen: Seen) -> None:
        """Draw all panels, and take what was done to them."""

    def present(self, paint: Paint = unpainted) -> None:
        """Bring what was drawn to the screen, over what `paint` draws."""

    def present_alone(self, texture: int, size: tuple[int, int]) -> None:
        """Bring a texture of that size to the screen that shows the picture alone."""


class Ear(Protocol):
    """What is heard, in step with what is seen."""

    def follow(self, desk: Desk, *, is_on: bool, level: float) -> Hearing:
        """Follow how the reel moves, as loud as `level` in decibels; return what is heard."""
