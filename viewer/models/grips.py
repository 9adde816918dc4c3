"""Three balances and three masters, always in sight: found in the chain by what its nodes declare.

The node that has the most of them has them all: where several have as many, the one that was opened last,
else the one with the most masters of its own, else the first of the chain. What it lacks is another node's.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from typing import Any, Final

import numpy as np

from lamphouse.graph.edits.cues import reset_cue
from lamphouse.graph.edits.wires import with_node
from lamphouse.graph.grade.probe import moved
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.parameter import Kind, Parameter
from lamphouse.nodes.tonal_range import TonalRange
from lamphouse.nodes.values import in_range, value_text
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.drags import Drag

BALANCE, MASTER = 2, 1  # axes of the hand that moves one
# A hand's width of the pointer's way, in pixels at scale 1, and how far it goes: 0.6 of the plane of Cb and
# Cr, of a master a fifth of its range. So a pixel is less than a code of 10 bits to the picture (our choice).
HAND: Final = 400.0
PLANE: Final = 0.6
RANGE: Final = 0.2


@dataclass(frozen=True, slots=True)
class Grip:
    """What moves some of the tones: a balance and a master, by `node.parameter`; empty where there is none.

    A balance of three numbers is its own master where it has no other: they are moved alike.
    """

    tones: TonalRange
    balance: str = ""
    master: str = ""

    @property
    def node(self) -> str:
        """The node of the chain that it belongs to."""
        return (self.balance or self.master).partition(".")[0]

    @property
    def keys(self) -> tuple[str, ...]:
        """What it moves."""
        return tuple(dict.fromkeys(key for key in (self.balance, self.master) if key))


Found = Mapping[TonalRange, Grip]


def grips_of(parameters: Mapping[str, Parameter], opened: Sequence[str] = ()) -> tuple[Grip, ...]:
    """Return the grips of shadows, middle tones and highlights in a chain of `parameters` by full name.

    `opened` are the nodes that are open, the last opened at the end.
    """
    by_node = {
        node: _declared(parameters, node) for node in dict.fromkeys(k.split(".")[0] for k in parameters)
    }
    ranked = sorted(by_node, key=lambda node: _rank(node, by_node[node], opened), reverse=True)
    return tuple(
        next((by_node[node][tones] for node in ranked if tones in by_node[node]), Grip(tones))
        for tones in TonalRange
    )


def _declared(parameters: Mapping[str, Parameter], node: str) -> Found:
    own = {key: p for key, p in parameters.items() if key.startswith(f"{node}.") and p.acts_on is not None}
    grips = {}
    for tones in TonalRange:
        balance = next((k for k, p in own.items() if p.acts_on is tones and p.kind.axes == BALANCE), "")
        master = next((k for k, p in own.items() if p.acts_on is tones and p.kind.axes == MASTER), "")
        if balance:
            alike = balance if own[balance].kind is Kind.TRIPLE else ""
            grips[tones] = Grip(tones, balance, master or alike)
    return grips


def _rank(node: str, found: Found, opened: Sequence[str]) -> tuple[int, int, int]:
    last = opened.index(node) if node in opened else -1
    return len(found), last, sum(grip.master != grip.balance for grip in found.values())


def of_all_tones(catalogue: Catalogue) -> str:
    """Return the node that comes with the tool and has the most balances and masters of tones."""
    own = [name for name in catalogue.names if not catalogue.source(name)]
    return max(own, key=lambda name: sum(p.acts_on is not None for p in catalogue[name].parameters))


def add_grips(desk: Desk) -> None:
    """Put that node at the end of the chain."""
    kind = of_all_tones(desk.catalogue)
    desk.rewire(lambda chain, catalogue: with_node(chain, catalogue, kind, chain.output))


def travelled(parameter: Parameter, value: Any) -> float:
    """Return where a master stands, as it travels: a number, or the middle of three that are moved alike."""
    if parameter.kind.axes == MASTER:
        return parameter.travel.position(value)
    position = parameter.kind.position(value, parameter)
    return sum(position) / len(position)


def turn(desk: Desk, key: str, by: float, drag: Drag | None = None, channel: int | None = None) -> None:
    """Move a master on by so much as it travels, or one of the numbers of a balance, or all of them."""
    parameter = desk.controls.parameters[key]
    if parameter.kind.axes == MASTER:
        desk.nudge(key, (by,), drag)
        return
    drag = drag or desk.grasp(key)
    value: Any = desk.own(key, drag)
    shifts = np.full(len(parameter.kind.position(value, parameter)), by)
    if channel is not None:
        shifts[np.arange(len(shifts)) != channel] = 0.0
    desk.set({key: moved(parameter, value, shifts)}, drag)


def typed(desk: Desk, key: str, text: str, channel: int | None = None) -> None:
    """Set a master, or one of the numbers of a balance, or the middle of all of them, to what was typed."""
    parameter = desk.controls.parameters[key]
    if parameter.kind.axes == MASTER:
        desk.type(key, text)
        return
    value: Any = desk.own(key)
    if channel is not None:
        desk.type(
            key, ",".join([*map(value_text, value[:channel]), text, *map(value_text, value[channel + 1 :])])
        )
        return
    try:
        there = parameter.travel.position(
            in_range(Kind.NUMBER.parse(text, key), parameter.low, parameter.high, key)
        )
    except BadInput as error:
        desk.message = str(error)
        return
    turn(desk, key, there - travelled(parameter, value))


def put_back(desk: Desk, keys: Sequence[str]) -> None:
    """Make some controls neutral in one step."""
    cue = desk.holding
    if cue is not None:
        desk.edit(
            lambda reel: reduce(lambda done, key: reset_cue(done, cue.frame, desk.controls, key), keys, reel)
        )
