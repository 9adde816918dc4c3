"""The story of the reel and its shots, as records. All of it is invented.

The Lantern Errand: the lamp on the point has gone out. A child carries a lantern over the
meadow, through the wood and across the lake to fetch a flame, and is home with it before
the night is old. The lamp burns again; window by window, the farther shore answers.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

from lamphouse.graph.demo.faults import Change, Fade, Fault, Primary

TITLE: Final = "The Lantern Errand"
RATE: Final = 25
GAUGE: Final = "16mm"


@dataclass(frozen=True, slots=True)
class Shot:
    """One shot: frames [first, stop) of the scan, what it shows and what became of it.

    Its pictures are frames [source, source + whole) of the clean film, fewer of them where the reel is short.
    `blur` is the diameter in picture heights of the disc that a point becomes; `grain` the spread of the
    grain in `video`; `flicker` the spread of exposure from frame to frame, as a share of the light; `dust`
    the specks to expect in a frame.
    """

    name: str
    shows: str
    first: int
    stop: int
    source: int
    whole: int
    fault: Fault
    blur: float
    grain: float
    flicker: float
    dust: float
    scratch: bool
    hair: bool

    @property
    def frames(self) -> int:
        """How many frames the shot lasts."""
        return self.stop - self.first

    def picture(self, number: int) -> int:
        """Return the frame of the clean film that scan frame `number` shows."""
        return self.source + (number - self.first) * self.whole // self.frames


@dataclass(frozen=True, slots=True)
class Roll:
    """The whole roll: its shots, and the frames at which the lab punched and marked it."""

    shots: tuple[Shot, ...]
    head_mark: int
    sync: int
    tail_mark: int

    @property
    def frames(self) -> int:
        """How many frames there are, leaders included."""
        return self.shots[-1].stop


@dataclass(frozen=True, slots=True)
class _Plan:
    """A shot before it has a place on the roll: `frames` at full length, `least` however it is shortened.

    A leader is then cut off; anything else plays faster, so that all of it is seen.
    """

    name: str
    shows: str
    frames: int
    fault: Callable[[int], Fault] = field(default=lambda frames: Fault("none"))
    blur: float = 0.0  # as the clean film has it
    grain: float = 0.0085
    flicker: float = 0.004
    dust: float = 1.6
    scratch: bool = False
    hair: bool = False
    least: int = 4
    is_leader: bool = False


def _cast(kind: str, settings: Primary) -> Callable[[int], Fault]:
    return lambda frames: Fault(kind, settings)


def _fade(frames: int) -> Fault:
    fade = Fade(keep=(0.62, 0.90, 0.78), stain=(0.015, 0.030, 0.045))
    return Fault("faded", fade.undo(), fade=fade)


def _light_change(frames: int) -> Fault:
    """The camera kept one exposure from shade to sky; the change follows its turn."""
    shade = Primary(gain=1.62, gain_balance=(1.06, 1.0, 0.95))
    bright = Primary(gain=0.86, gain_balance=(1.0, 1.0, 1.0))
    start = frames // 5
    return Fault("light change", shade, change=Change(shade, bright, start, max(start + 1, frames * 4 // 5)))


# Settings first, picture after: what is applied is the inverse of each of these.
_CHART_CAST: Final = Primary(
    lift=-0.010,
    lift_balance=(-0.050, -0.025, -0.005),
    gamma=0.98,
    gamma_balance=(1.06, 0.98, 0.92),
    gain=1.06,
    gain_balance=(1.0, 1.04, 1.14),
)
_COLD_CAST: Final = Primary(gain=1.12, gain_balance=(1.30, 1.0, 0.90))
_TWO_STOPS: Final = Primary(gain=4 ** (1 / 2.4))  # two stops are a quarter of the light

_PLANS: Final = (
    _Plan(
        "head leader",
        "black leader, light leaks, two words scratched by hand",
        75,
        least=8,
        is_leader=True,
        grain=0.011,
        dust=7,
        scratch=True,
    ),
    _Plan(
        "chart",
        "the 24-patch chart on its board in the meadow",
        50,
        _cast("cast with lift", _CHART_CAST),
        grain=0.006,
        flicker=0.002,
        dust=0.4,
    ),
    _Plan("dawn", "dawn on the lake; the lamp on the point has gone out", 85),
    _Plan(
        "door",
        "a child leaves the cottage with a lantern that is not lit",
        75,
        _cast("cast", _COLD_CAST),
    ),
    _Plan(
        "meadow",
        "the child walks through grass and poppies at noon",
        75,
        _fade,
        grain=0.010,
        dust=3,
        scratch=True,
    ),
    _Plan("face", "close on the child, who looks up at a sound", 70),
    _Plan(
        "wood",
        "from the shade of the wood up to geese in a bright sky",
        100,
        _light_change,
        least=50,
    ),
    _Plan(
        "crossing",
        "the child rows through glitter; the lens is out of focus",
        70,
        lambda frames: Fault("soft"),
        blur=0.028,
        hair=True,
    ),
    _Plan(
        "clouds",
        "evening clouds over the dark lamp house; the exposure flickers",
        70,
        lambda frames: Fault("flicker"),
        flicker=0.030,
    ),
    _Plan(
        "flame",
        "a flame takes hold in the lantern, and a moth comes",
        60,
        grain=0.010,
    ),
    _Plan(
        "dusk",
        "the boat comes home over the dusky lake, two stops under",
        70,
        _cast("under-exposed", _TWO_STOPS),
        grain=0.013,
    ),
    _Plan(
        "lamp",
        "night; the child crosses the jetty and the lamp is lit",
        80,
        lambda frames: Fault("night"),
        grain=0.012,
    ),
    _Plan("answer", "window by window, the farther shore answers", 80, grain=0.012),
    _Plan(
        "tail leader",
        "amber leader, fogged where the roll was opened",
        40,
        is_leader=True,
        grain=0.011,
        dust=7,
        scratch=True,
    ),
)


def roll(shorten: int = 1) -> Roll:
    """Return the roll, every shot of it `shorten` times shorter, within reason.

    No shot has fewer than four frames, and the turning camera keeps a speed that is not taken for a cut.
    """
    shots: list[Shot] = []
    first = source = 0
    for plan in _PLANS:
        frames = max(plan.least, plan.frames // shorten)
        shots.append(
            Shot(
                plan.name,
                plan.shows,
                first,
                first + frames,
                source,
                frames if plan.is_leader else plan.frames,
                plan.fault(frames),
                plan.blur,
                plan.grain,
                plan.flicker,
                plan.dust,
                plan.scratch,
                plan.hair,
            )
        )
        first += frames
        source += plan.frames
    head = max(1, 10 // shorten)
    return Roll(tuple(shots), head, head + max(2, 2 * RATE // shorten), first - max(2, 12 // shorten))
