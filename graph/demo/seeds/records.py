"""What was done to a reel of chance: records that a survey is held against, in memory and as JSON.

Frames are counted in the scan from 0; ranges are half-open; places are shares of the picture from its top
left corner, without weave; light is counted in stops. Everything is invented.
"""

from dataclasses import dataclass
from typing import Any

Place = tuple[float, float, float, float]  # left, top, width, height
Settings = dict[str, float | list[float]]


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueShot:
    """A shot, alone in frames [first, stop); a dissolve into it ends at `first`.

    Shots of one `set_up` are one camera's. `settings` return the clean picture, where no light changes.
    `flicker` is the largest departure of the exposure from the shot's own, in stops; `weave` the spread of
    the picture's place as a share of its height; `dust` the specks to expect in a frame.
    """

    name: str
    shows: str
    first: int
    stop: int
    set_up: str
    settings: Settings
    flicker: float
    weave: float
    dust: float
    grain: float
    is_soft: bool
    is_shallow: bool
    is_leader: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueChange:
    """A change of shot: `frame` is the first of the new shot alone, `frames` how many it lasts before.

    `what` is "cut", "dissolve", "fade out" (then `frame` is the first that is black) or "fade in" (the
    first in full light).
    """

    frame: int
    frames: int
    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueDrift:
    """Light that passes from one setting into another in frames [first, stop): at `stop` it has arrived.

    `begin` and `end` return the clean picture before and after; each gain travels by equal ratios under
    `ease` ("soft", 3 t^2 - 2 t^3, or "even").
    """

    first: int
    stop: int
    ease: str
    stops: float
    begin: Settings
    end: Settings
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StoryLight:
    """Light that the story itself moves, in frames [first, stop): a lamp is lit. It is no fault."""

    first: int
    stop: int
    stops: float
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueSpan:
    """Frames [first, stop) of which something holds, with its place and size where it has them."""

    what: str
    first: int
    stop: int
    place: Place | None = None
    amount: float | None = None
    unit: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueScratch:
    """A scratch in the direction of travel in frames [first, stop).

    `columns` is where it lies in each and `width` how wide it is, in shares of the picture's width;
    `strength` is how much of the picture it covers at its worst.
    """

    first: int
    stop: int
    columns: tuple[float, ...]
    width: float
    strength: float
    is_bright: bool
    wanders: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueSpeck:
    """A speck of dust or a fibre in one frame: its box, and the share of the picture that it covers."""

    frame: int
    place: Place
    area: float
    is_bright: bool
    is_fibre: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """All that was done to one reel.

    `flashes` are what is bright for a frame or two and no change of shot ("camera flash", "splice flash");
    `splices` those that are bad, `clipped` the shots whose `amount` of stops more (or less) light the scan
    would have needed to hold. `missing` says before which frames how many of the film's are lacking;
    `doubled` which frames repeat the one before. `weave` is what was moved, (across, down) in shares of the
    picture's height, `flicker` the gain of the light, both by frame.
    """

    invented: bool = True
    number: int
    width: int
    height: int
    frames: int
    rate: str
    first_picture: int
    last_picture: int
    head_mark: int
    tail_mark: int
    mark_frames: int
    hole: Place
    sync: int
    shots: tuple[TrueShot, ...]
    changes: tuple[TrueChange, ...]
    drifts: tuple[TrueDrift, ...]
    story: tuple[StoryLight, ...]
    soft: tuple[TrueSpan, ...]
    clipped: tuple[TrueSpan, ...]
    hairs: tuple[TrueSpan, ...]
    flashes: tuple[TrueSpan, ...]
    splices: tuple[TrueSpan, ...]
    unsteady: tuple[TrueSpan, ...]
    pans: tuple[TrueSpan, ...]
    scratches: tuple[TrueScratch, ...]
    missing: dict[int, int]
    doubled: tuple[int, ...]
    dust: tuple[TrueSpeck, ...]
    weave: tuple[tuple[float, float], ...]
    flicker: tuple[float, ...]

    def changes_of(self, what: str) -> tuple[TrueChange, ...]:
        """Return the changes of one kind."""
        return tuple(change for change in self.changes if change.what == what)

    def set_ups(self) -> dict[str, list[TrueShot]]:
        """Return the shots by their set-up."""
        found: dict[str, list[TrueShot]] = {}
        for shot in self.shots:
            found.setdefault(shot.set_up, []).append(shot)
        return found


def as_document(truth: Truth) -> dict[str, Any]:
    """Return the truth as plain values for JSON."""
    import msgspec

    return dict(msgspec.to_builtins(truth, str_keys=True))
