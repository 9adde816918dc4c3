"""The numbers of a chain that bring one picture to another: balances with their masters, and saturation.

They are those of the node that has the most of them, the first of the chain where several have as many: of
a primary lift, gamma and gain; of a CDL slope, offset and power.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from lamphouse.graph.chain.order import ordered
from lamphouse.graph.cues.settings import OFF, ON, SWITCH, Controls
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.survey.matching.distance import Array
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.parameter import Kind, Parameter
from lamphouse.nodes.tonal_range import TonalRange
from lamphouse.nodes.values import Settings, Travel, Value

# How far a number is moved as a matter of course, as it travels: what is farther has to earn it (our choice).
USUAL: Final = {Travel.LINEAR: 0.08, Travel.LOG: 0.35}
USUAL_STRENGTH: Final = 0.4
DIGITS: Final = 5
SATURATION: Final = "saturation"


@dataclass(frozen=True, slots=True)
class Knob:
    """A control of one or three numbers, with the master that takes what the three have in common."""

    key: str
    parameter: Parameter
    master: str = ""
    master_parameter: Parameter | None = None
    usual: float = USUAL_STRENGTH

    @property
    def size(self) -> int:
        """How many numbers it has."""
        return 3 if self.parameter.kind is Kind.TRIPLE else 1

    def moved(self, settings: Settings, by: Array) -> dict[str, Value]:
        """Return its values once each of its numbers has moved so far, held within their ranges."""
        value: Any = settings[self.key]
        if self.size == 1:
            return {self.key: _moved(self.parameter, value, float(by[0]))}
        alike = float(by.mean()) if self.master_parameter is not None else 0.0
        numbers = tuple(
            _moved(self.parameter, number, float(n) - alike) for number, n in zip(value, by, strict=True)
        )
        if self.master_parameter is None:
            return {self.key: numbers}
        master: Any = settings[self.master]
        return {self.master: _moved(self.master_parameter, master, alike), self.key: numbers}


def _moved(parameter: Parameter, number: float, by: float) -> float:
    moved = parameter.travel.at(parameter.travel.position(number) + by)
    return parameter.within(moved)


def _rounded(value: Any) -> Value:
    return tuple(round(n, DIGITS) for n in value) if isinstance(value, tuple) else round(value, DIGITS)


@dataclass(frozen=True, slots=True)
class Knobs:
    """All of them, at the settings that they are moved from."""

    knobs: tuple[Knob, ...]
    settings: Settings

    @property
    def size(self) -> int:
        """How many numbers there are."""
        return sum(knob.size for knob in self.knobs)

    @property
    def usual(self) -> Array:
        """How far each is moved as a matter of course, (size,)."""
        return np.concatenate([np.full(knob.size, knob.usual) for knob in self.knobs])

    def moved(self, by: Array, *, rounds: bool = True) -> dict[str, Value]:
        """Return the values of all of them once each number has moved by `by` (size,), as a cue keeps them.

        Without `rounds` every digit stays, for slopes.
        """
        starts = np.cumsum([0, *(knob.size for knob in self.knobs)])
        values: dict[str, Value] = {}
        for knob, start in zip(self.knobs, starts, strict=False):
            values |= knob.moved(self.settings, by[start : start + knob.size])
        return {key: _rounded(value) for key, value in values.items()} if rounds else values


def knobs_of(
    opened: OpenedReel,
    controls: Controls,
    settings: Settings,
    tones: Sequence[TonalRange] = tuple(TonalRange),
) -> Knobs:
    """Return the controls of a reel's chain that move these `tones`, and the strength of colour for all.

    `settings` are the values of all parameters, from which they move. Raises BadInput for a chain that has
    none.
    """
    names = [ref.name for ref in ordered(opened.reel.chain, opened.catalogue)]
    by_node = {name: _balances(controls.parameters, name, tones) for name in names}
    best = max(names, key=lambda name: sum(1 + bool(k.master) for k in by_node[name]), default="")
    knobs = by_node.get(best, [])
    if not knobs:
        raise BadInput(
            "The chain has no balance to match with; put a primary into it, or start with --chain plain."
        )
    strength = _strength(opened, controls, best) if len(tones) == len(TonalRange) else None
    return Knobs((*knobs, *([strength] if strength else [])), settings)


def _balances(parameters: Mapping[str, Parameter], node: str, tones: Sequence[TonalRange]) -> list[Knob]:
    own = {key: p for key, p in parameters.items() if key.startswith(f"{node}.")}
    knobs = []
    for key, parameter in own.items():
        if parameter.acts_on not in tones or parameter.kind is not Kind.TRIPLE:
            continue
        alike = (k for k, p in own.items() if p.acts_on is parameter.acts_on and p.kind is Kind.NUMBER)
        master = next(alike, "")
        knobs.append(Knob(key, parameter, master, own.get(master), USUAL[parameter.travel]))
    return knobs


def _strength(opened: OpenedReel, controls: Controls, best: str) -> Knob | None:
    """Return the strength of colour: a saturation of the chain, else the node's own."""
    nodes = (ref.name for ref in ordered(opened.reel.chain, opened.catalogue) if ref.kind == SATURATION)
    keys = (*(f"{name}.amount" for name in nodes), f"{best}.{SATURATION}")
    found = next((key for key in keys if key in controls.parameters), None)
    return Knob(found, controls.parameters[found]) if found else None


def switched_on(stored: Mapping[str, Any], found: Mapping[str, Value], controls: Controls) -> dict[str, Any]:
    """Return `found` with what it takes for it to hold over what a cue has `stored`.

    A node that was off is on then, and what else it has stored neutral, as it was while it was off.
    """
    laid: dict[str, Any] = {}
    for node in dict.fromkeys(key.partition(".")[0] for key in found):
        if stored.get(f"{node}.{SWITCH}") == OFF:
            laid[f"{node}.{SWITCH}"] = ON
            laid |= {
                key: controls.neutral[key]
                for key in stored
                if key.startswith(f"{node}.") and key in controls.parameters
            }
    laid |= {f"{key}.{SWITCH}": ON for key in found if stored.get(f"{key}.{SWITCH}") == OFF}
    return laid | dict(found)
