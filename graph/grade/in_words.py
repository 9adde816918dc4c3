"""What settings do to a picture, in the words of somebody who looks at it: `a third of a stop up`.

Nothing is said by a node's name. What was set is taken back to neutral in the chain, all else as it stands,
and what that does to greys and to colours is what the words say. So they are right in a negative too, where
more light prints darker. What does neither is said by its parameter's own sentence.
"""

from __future__ import annotations

from math import atan2, degrees, hypot
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.numpy_run import NumpyRun
from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.chain.program import Program
from lamphouse.graph.cues.settings import Controls
from lamphouse.graph.media.codes.ycbcr import encode_matrix
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.framing import FRAMING
from lamphouse.nodes.one_line import one_line
from lamphouse.nodes.parameter import Parameter
from lamphouse.nodes.tonal_range import TonalRange
from lamphouse.nodes.values import Settings, Value

Array = NDArray[np.float64]

MATRIX: Final = "bt709"
GREYS: Final = 256
# Where each third of the tones is looked at, in signal; the least that is worth a word; steps of the words
# for how much (all our choice).
TONES: Final = {TonalRange.SHADOWS: 0.2, TonalRange.MIDDLE: 0.45, TonalRange.HIGHLIGHTS: 0.8}
LEAST_STOPS: Final = 0.06
ALIKE: Final = 1 / 6  # of a stop: tones that are lit as alike as that are one
CASTS: Final = ((0.012, "a touch "), (0.035, "slightly "), (0.09, ""), (float("inf"), "much "))
LEAST_CAST: Final = 0.003
LEAST_STRENGTH: Final = 0.02
EVEN: Final = 0.05  # how far apart colours may go and still be said to go together
_DARKEST: Final = 0.02  # of signal: below, a ratio of light says nothing to anybody
_DISPLAY: Final = 2.4  # ITU-R BT.1886: light is signal to this power, and a stop is a factor of two in light

_FRACTIONS: Final = (
    (0.0, ""),
    (1 / 4, "a quarter"),
    (1 / 3, "a third"),
    (1 / 2, "half"),
    (2 / 3, "two thirds"),
    (3 / 4, "three quarters"),
    (1.0, ""),
)
_WHOLE: Final = ("", "one", "two", "three", "four", "five", "six", "seven", "eight")

# Where a colour moves, by the R'G'B' that it moves along: the six of the bars, and the way of daylight.
_WAYS: Final = {
    "redder": (1, 0, 0),
    "warmer": (1, 0, -1),
    "yellower": (1, 1, 0),
    "greener": (0, 1, 0),
    "more cyan": (0, 1, 1),
    "cooler": (-1, 0, 1),
    "bluer": (0, 0, 1),
    "more magenta": (1, 0, 1),
}


class PlainWords:
    """Says what settings of one reel's chain do. Its maths is traced once and kept."""

    def __init__(self, program: Program | None, controls: Controls) -> None:
        self._program, self._controls = program, controls
        self._pixels = _pixels()

    def of(self, settings: Settings) -> tuple[str, ...]:
        """Return the effect of settings, every parameter's, in sentences; none where they are neutral.

        The first says what is seen; each of the others is one parameter of which that cannot be said.
        """
        changed = [key for key, value in settings.items() if value != self._controls.neutral[key]]
        measured = [key for key in changed if self._is_measured(key, changed)]
        alone = {key: effect for key in measured if (effect := self._effect(settings, [key]))}
        greys = [key for key, effect in alone.items() if effect.is_of_greys]
        together = self._effect(settings, greys) if greys else None
        strengths = {key: effect.strength_words() for key, effect in alone.items() if key not in greys}
        told = [*(together.grey_words() if together else ()), *filter(None, strengths.values())]
        said = {*greys, *(key for key, words in strengths.items() if words)}
        others = (self._own(key, settings) for key in changed if key not in said)
        return (*((_sentence(told),) if told else ()), *others)

    def _own(self, key: str, settings: Settings) -> str:
        return own_words(self._controls.parameters[key], settings[key])

    def _is_measured(self, key: str, changed: list[str]) -> bool:
        """Say whether what is seen tells a parameter; not one whose node has a choice."""
        node, parameters = key.partition(".")[0], self._controls.parameters
        chosen = any(parameters[other].kind.selects_code for other in changed if other.startswith(f"{node}."))
        return node != FRAMING and not chosen

    def _effect(self, settings: Settings, keys: list[str]) -> _Effect | None:
        """Return what some of the settings do, the others as they are; None where that cannot be said."""
        neutral = {key: self._controls.neutral[key] for key in keys}
        before, after = self._made({**settings, **neutral}), self._made(settings)
        return None if before is None or after is None else _Effect(before, after)

    def _made(self, settings: Settings) -> Array | None:
        """Return Y', Cb and Cr, (3, n), of the pixels; None where that cannot be said."""
        if self._program is None or self._depends_on_place(settings):
            return None
        try:
            expression, numbers = self._program.expression(settings), self._program.numbers(settings)
            with NumpyRun(1) as run:
                made = run.run(expression, {SCAN: self._pixels}, inputs=numbers)
        except BadInput:  # a file that is gone, a plug-in that fails
            return None
        return np.asarray(encode_matrix(MATRIX) @ np.asarray(made, np.float64).reshape(3, -1))

    def _depends_on_place(self, settings: Settings) -> bool:
        assert self._program is not None
        nodes = tuple(f"{name}." for name in self._program.beyond_point())
        neutral = self._controls.neutral
        return any(value != neutral[key] for key, value in settings.items() if key.startswith(nodes))


class _Effect:
    """What comes of the pixels, (3, n) of Y', Cb and Cr, before and after: by tone, and of six colours."""

    def __init__(self, before: Array, after: Array) -> None:
        self.stops: dict[TonalRange, float] = {}
        self.shifts: dict[TonalRange, tuple[float, float]] = {}
        for tone, level in TONES.items():
            distance = np.abs(before[0, :GREYS] - level)
            at = int(np.argmin(np.where(np.isfinite(distance), distance, np.inf)))
            one, other = (float(max(made[0, at], _DARKEST)) for made in (before, after))
            self.stops[tone] = _DISPLAY * float(np.log2(other / one))
            # Brighter colours are farther from grey and no other colours.
            shift = after[1:, at] * (one / other) - before[1:, at]
            self.shifts[tone] = (float(shift[0]), float(shift[1]))
        was, is_now = (np.hypot(made[1, GREYS:], made[2, GREYS:]) for made in (before, after))
        self.strengths = is_now / np.maximum(was, 1e-6)

    @property
    def is_of_greys(self) -> bool:
        """Whether greys are seen to change."""
        is_lit = any(abs(stops) >= LEAST_STOPS for stops in self.stops.values())
        return is_lit or any(hypot(*shift) >= LEAST_CAST for shift in self.shifts.values())

    def grey_words(self) -> list[str]:
        """Return what is seen of greys, of their light and then of their colour."""
        return [*self._light_words(), *self._cast_words()]

    def strength_words(self) -> str:
        """Return how much stronger all colours are; nothing where they do not go together."""
        strength = float(np.median(self.strengths))
        if not np.isfinite(strength) or np.ptp(self.strengths) > EVEN or abs(strength - 1) < LEAST_STRENGTH:
            return ""
        if strength < LEAST_STRENGTH:
            return "in black and white"
        return f"colours {abs(strength - 1) * 100:.0f} % {'stronger' if strength > 1 else 'weaker'}"

    def _light_words(self) -> list[str]:
        stops = list(self.stops.values())
        if max(stops) - min(stops) < ALIKE:
            middle = self.stops[TonalRange.MIDDLE]
            return [stops_words(middle)] if abs(middle) >= LEAST_STOPS else []
        by_words: dict[str, list[TonalRange]] = {}
        for tone, size in self.stops.items():
            if abs(size) >= LEAST_STOPS:
                by_words.setdefault(stops_words(size), []).append(tone)
        return [f"{words}{_places(tones)}" for words, tones in by_words.items()]

    def _cast_words(self) -> list[str]:
        by_way: dict[str, dict[TonalRange, float]] = {}
        for tone, shift in self.shifts.items():
            if (size := hypot(*shift)) >= LEAST_CAST:
                by_way.setdefault(way_of(shift), {})[tone] = size
        words = []
        for way, sizes in by_way.items():
            most = max(sizes.values())
            tones = [tone for tone, size in sizes.items() if size >= most / 2]
            words.append(f"{how_much(most)}{way}{_places(tones)}")
        return words


def own_words(parameter: Parameter, value: Value) -> str:
    """Return a parameter's own sentence with its value: `How much highlights are bent: 0.5.`"""
    what = parameter.sentence.rstrip(".").partition(";")[0].partition(":")[0]
    return one_line(f"{what}: {value_words(parameter, value)}.")


def value_words(parameter: Parameter, value: Value) -> str:
    """Return a value with its unit: `0.5 stops`."""
    unit = parameter.unit if parameter.kind.is_input else ""  # a white says its own
    return f"{parameter.kind.text(value)} {unit}".rstrip()


def stops_words(stops: float) -> str:
    """Return stops in words: `a third of a stop up`, `one and a half stops down`, `a touch up`."""
    way = "up" if stops > 0 else "down"
    size = abs(stops)
    if size < 1 / 8:
        return f"a touch {way}"
    whole = int(size)
    share, part = min(_FRACTIONS, key=lambda known: abs(size - whole - known[0]))
    whole += share == 1
    if whole >= len(_WHOLE):
        return f"{size:.1f} stops {way}"
    if not whole:
        return f"{part} {'a stop' if part == 'half' else 'of a stop'} {way}"
    plural = "stop" if whole == 1 and not part else "stops"
    half = "a half" if part == "half" else part
    return f"{_WHOLE[whole]}{f' and {half}' if part else ''} {plural} {way}"


def way_of(shift: tuple[float, float]) -> str:
    """Return in a word where a shift of (Cb, Cr) takes a grey: `warmer`."""
    _, cb, cr = encode_matrix(MATRIX)
    angle = degrees(atan2(shift[1], shift[0]))
    ways = {way: degrees(atan2(float(cr @ rgb), float(cb @ rgb))) for way, rgb in _WAYS.items()}
    return min(ways, key=lambda way: abs((ways[way] - angle + 180) % 360 - 180))


def how_much(size: float) -> str:
    """Return how far a shift of Cb and Cr of that size goes, to stand before its way: `slightly `."""
    return next(much for most, much in CASTS if size < most)


def _pixels() -> Array:
    """Return a scale of greys and then six colours, (3, 1, n), in codes of a scan of 0 to 1."""
    greys = np.broadcast_to(np.linspace(0, 1, GREYS), (3, GREYS))
    hues = np.array([rgb for rgb in _WAYS.values() if min(rgb) >= 0], np.float64).T
    return np.concatenate([greys, 0.45 + 0.08 * (hues - hues.mean(axis=0))], axis=1)[:, None]


def _sentence(words: list[str]) -> str:
    told = ", ".join(words)
    return f"{told[0].upper()}{told[1:]}."


def _places(tones: list[TonalRange]) -> str:
    """Return where something is seen; nothing where that is everywhere."""
    return "" if len(tones) == len(TONES) else f" in the {' and the '.join(tones)}"
