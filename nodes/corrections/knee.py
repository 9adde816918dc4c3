"""Knee: highlights or shadows run softly into an end instead of into a wall."""

from typing import Any, Final

from lamphouse.nodes.corrections.bend import bent_above, bent_below
from lamphouse.nodes.declare import Node, Reach, Signal
from lamphouse.nodes.maths import maximum, minimum, mix
from lamphouse.nodes.parameter import Parameter

# A bend shorter than this is a corner to any eye; it also keeps the division safe.
SHORTEST: Final = 0.005


def knee(picture: Any, p: Any) -> Any:
    """Each channel bent from `highlights_start` and from `shadows_start`, each toward its end."""
    highlights_end = maximum(p.highlights_end, p.highlights_start + SHORTEST)
    shadows_end = minimum(p.shadows_end, p.shadows_start - SHORTEST)
    bent = mix(picture, bent_above(picture, p.highlights_start, highlights_end), p.highlights_amount)
    return mix(bent, bent_below(bent, p.shadows_start, shadows_end), p.shadows_amount)


def _level(name: str, sentence: str, default: float, low: float, high: float) -> Parameter:
    return Parameter(name, sentence, default, low=low, high=high, step=0.005)


def _amount(name: str, sentence: str) -> Parameter:
    return Parameter(name, sentence, 0.0, low=0.0, high=1.0)


KNEE = Node(
    name="knee",
    sentence="Bends highlights and shadows softly toward an end, with no corner.",
    signal=Signal.VIDEO,
    reach=Reach.POINT,
    body=knee,
    source="a parabola between two straight lines, continuous in slope; our own",
    parameters=(
        _amount("highlights_amount", "How much highlights are bent; 1 is wholly."),
        _level("highlights_start", "Level from which highlights bend.", 0.8, 0.3, 1.2),
        _level("highlights_end", "Level that they come to rest on.", 1.0, 0.4, 1.5),
        _amount("shadows_amount", "How much shadows are bent; 1 is wholly."),
        _level("shadows_start", "Level from which shadows bend.", 0.1, -0.2, 0.6),
        _level("shadows_end", "Level that they come to rest on.", 0.0, -0.5, 0.5),
    ),
)
