"""A reel of chance before it is drawn: its shots, each with its place on the roll and all that befalls it."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.demo.faults import NEUTRAL, VIDEO_POWER, Primary
from lamphouse.graph.demo.seeds.scenes import Scene

Frames = NDArray[np.intp]
EASES: Final = ("soft", "even")


@dataclass(frozen=True, slots=True)
class Window:
    """The part of the clean picture that a shot shows, in shares of it: it may move inside the shot.

    Its left and top pass evenly to `to_left` and `to_top` in frames [start, stop) of the shot.
    """

    share: float = 1.0
    left: float = 0.0
    top: float = 0.0
    to_left: float = 0.0
    to_top: float = 0.0
    start: int = 0
    stop: int = 1

    def at(self, frame: int) -> tuple[float, float]:
        """Return left and top at a frame of the shot."""
        way = min(1.0, max(0.0, (frame - self.start) / max(1, self.stop - self.start)))
        return self.left + way * (self.to_left - self.left), self.top + way * (self.to_top - self.top)


@dataclass(frozen=True, slots=True)
class Drift:
    """A change of light in frames [start, stop) of a shot, in stops for red, green and blue."""

    start: int
    stop: int
    stops: tuple[float, float, float]
    ease: str
    why: str

    def share(self, frame: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return how far it has come at frames of the shot."""
        t = np.clip((frame - self.start) / (self.stop - self.start), 0, 1)
        return np.asarray(t * t * (3 - 2 * t) if self.ease == "soft" else t)


@dataclass(frozen=True, slots=True)
class Piece:
    """A shot that has no place on the roll yet. `frames` is how long it is seen alone, in full light.

    `look` are the settings that undo its cast; `clip` by how many stops the scan would have needed less
    light (more, where negative); `weave` times the reel's own; `missing` frames of the film are lacking at
    `missing_at` of the shot; `doubled_at` is scanned twice; `has_hair` where one comes into the gate.
    """

    scene: Scene
    set_up: str
    frames: int
    offset: int = 0
    window: Window = Window()
    is_mirrored: bool = False
    look: Primary = NEUTRAL
    blur: float = 0.0
    is_shallow: bool = False
    drifts: tuple[Drift, ...] = ()
    flicker: float = 0.004
    weave: float = 1.0
    dust: float = 1.6
    grain: float = 0.0085
    has_hair: bool = False
    clip: float = 0.0
    flash_at: int | None = None
    missing: int = 0
    missing_at: int = 0
    doubled_at: int | None = None

    @property
    def is_soft(self) -> bool:
        """Whether all of its picture is out of focus."""
        return self.scene.is_soft or (self.blur > 0 and not self.is_shallow)


@dataclass(frozen=True, slots=True)
class Junction:
    """How a shot gives way to the next: "cut", "dissolve" over `frames`, or "fade" out and in.

    `black`: frames between the two of a fade. `in_light`: a dissolve adds light, else signal. `flash` is
    light in stops on the last frame before a cut, `is_bad` a splice that shows; `jolt` how far the picture
    jumps there, in picture heights down.
    """

    what: str = "cut"
    frames: int = 0
    black: int = 0
    in_light: bool = True
    flash: float = 0.0
    is_bad: bool = False
    jolt: float = 0.0


@dataclass(frozen=True, slots=True)
class Shot:
    """A shot in its place: seen in frames [start, end), alone in [first, stop)."""

    piece: Piece
    name: str
    start: int
    first: int
    stop: int
    end: int
    fade_in: int = 0
    fade_out: int = 0
    black: int = 0

    def passed(self) -> Frames:
        """Return how many frames of the film have passed since `first` at each frame of [start, end).

        What the scanner left out has passed as well, and what it took twice has not passed again.
        """
        piece, alone = self.piece, self.first - self.start
        steps = np.ones(self.end - self.start, np.intp)
        steps[0] = -alone
        if piece.missing:
            steps[alone + piece.missing_at] += piece.missing
        if piece.doubled_at is not None:
            steps[alone + piece.doubled_at] = 0
        return np.cumsum(steps)

    def pictures(self) -> Frames:
        """Return which frame of its scene each frame of [start, end) shows; a short scene runs to and fro."""
        piece = self.piece
        along = self.passed() + (self.first - self.start) + piece.offset
        last = piece.scene.frames - 1
        if piece.scene.light is not None:
            return np.clip(along, 0, last)
        return np.asarray(last - np.abs(along % (2 * last) - last))

    def exposure(self) -> NDArray[np.float64]:
        """Return the gain of the light by frame of [start, end), (frames, 3): drifts and fades."""
        frame = np.arange(self.start, self.end) - self.first
        stops = np.zeros((len(frame), 3))
        for drift in self.piece.drifts:
            stops += drift.share(frame.astype(np.float64))[:, None] * np.array(drift.stops)
        return np.asarray(2.0**stops * (self._fade(frame) ** VIDEO_POWER)[:, None])

    def _fade(self, frame: NDArray[np.intp]) -> NDArray[np.float64]:
        full = np.ones(len(frame))
        if self.fade_in:
            full = np.minimum(full, (frame + 1) / (self.fade_in + 1))
        if self.fade_out:
            dark = self.stop - self.first - self.black
            full = np.minimum(full, (dark - frame) / (self.fade_out + 1))
        return np.asarray(np.clip(full, 0, 1))


@dataclass(frozen=True, slots=True)
class Scratch:
    """A scratch through frames [first, stop); `column` and the lines are shares of the picture's width."""

    first: int
    stop: int
    column: float
    wander: float
    width: float
    strength: float
    is_bright: bool
    throw: int


@dataclass(frozen=True, slots=True)
class Hair:
    """A hair in the gate in frames [first, stop), in from the top (0), left (1), bottom (2) or right (3).

    `root` is where it stands along that edge, in shares of it; `length` and `thick`, its half width, are
    picture heights; it sets out by `lean` from the straight way in, and turns by `bend`, in radians.
    """

    first: int
    stop: int
    side: int
    root: float
    length: float
    lean: float
    bend: float
    thick: float
    is_bright: bool


@dataclass(frozen=True, slots=True)
class SeededPlan:
    """The whole roll of one number."""

    number: int
    shots: tuple[Shot, ...]
    junctions: tuple[Junction, ...]
    scratches: tuple[Scratch, ...]
    hairs: tuple[Hair, ...]
    head_mark: int
    tail_mark: int
    mark_frames: int
    hole: tuple[float, float, float]
    sync: int
    weave: float

    @property
    def frames(self) -> int:
        """How many frames the scan has."""
        return self.shots[-1].end

    def doubled(self) -> tuple[int, ...]:
        """Return the frames that repeat the one before."""
        return tuple(s.first + s.piece.doubled_at for s in self.shots if s.piece.doubled_at is not None)

    def missing(self) -> dict[int, int]:
        """Return how many frames are lacking before frames of the scan."""
        return {s.first + s.piece.missing_at: s.piece.missing for s in self.shots if s.piece.missing}
