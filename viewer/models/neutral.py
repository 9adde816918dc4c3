"""The balance that makes a picked colour neutral, found on the chain as it is."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.order import ordered
from lamphouse.graph.grade.probe import (
    COLUMNS,
    MATRIX,
    ROWS,
    Array,
    Probe,
    Sample,
    sampled,
    slopes,
    steering,
)
from lamphouse.graph.media.codes.ycbcr import encode_matrix
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.parameter import Parameter
from lamphouse.nodes.values import Value
from lamphouse.viewer.models.balance import SEEN, effect, moved
from lamphouse.viewer.models.desk import Desk

TURNS: Final = 12
CLOSE: Final = 2e-4  # of signal: a fifth of a 10-bit code
PLANE: Final = 2  # axes of a hand that moves it: what a balance is
ABOUT: Final = 0.9  # of the effect of another balance: then the one that the node names first is taken
LEAST: Final = 0.02  # of signal: nearer to black a colour says nothing of the light


def neutral_balance(made: Callable[[Any], Array], parameter: Parameter, value: Value) -> Value:
    """Return the balance that makes what `made(balance)` gives, (3,), equal channels; `value` is as it is.

    Its luma (ITU-R BT.709) stays about what it is, where the balance can keep it. Raises BadInput for a
    colour that is too dark or that no balance within the range makes neutral.
    """
    found = made(value)
    if found.min() < LEAST:
        raise BadInput("What was picked is too dark to say what is neutral; pick something lighter.")
    goal = float(encode_matrix(MATRIX)[0] @ found)
    for _ in range(TURNS):
        luma, cb, cr = encode_matrix(MATRIX) @ found
        if np.abs(found - luma).max() < CLOSE:
            return value
        shifts = steering(slopes(made, parameter, value)) @ (goal - luma, -cb, -cr)
        value = moved(parameter, value, shifts)
        found = made(value)
    raise BadInput("No balance makes what was picked neutral; pick something that was grey or white.")


def make_neutral(
    desk: Desk, colour: NDArray[np.float32], point: tuple[float, float] = (0.5, 0.5), node: str = ""
) -> None:
    """Set a balance so that a colour of the scan, (3,), comes out neutral where it was picked.

    `point` is that place in shares of the picture, for mattes. The balance is the one that moves the colour
    most of those of `node`, where that has one, or of the last node of the chain that has.
    """
    sample = desk.aims.sample or sampled(np.zeros((3, ROWS, COLUMNS)))
    row, column = sample.cell(*point)
    try:
        probe = desk.aims.probe(desk.opened, desk.cues.held(desk.cues.holding(desk.frame)))
        picked = _Picked(probe, sample.all_of(colour), (slice(None), row, column))
        key = _chosen(desk, picked, node)
        parameter = desk.controls.parameters[key]
        value: Any = desk.own(key)
        made = neutral_balance(lambda tried: picked.made(key, tried), parameter, value)
    except BadInput as error:
        desk.message = str(error)
        return
    desk.set({key: made})


class _Picked:
    """What the chain makes of a colour at a place."""

    def __init__(self, probe: Probe, sample: Sample, at: tuple[Any, ...]) -> None:
        self._probe, self._sample, self._at = probe, sample, at

    def made(self, key: str, value: Any) -> Array:
        """Return it with another value of the parameter `key`, (3,)."""
        made: Array = self._probe.video(self._sample, key, value)[self._at]
        return made

    def effect(self, key: str, parameter: Parameter) -> float:
        """Return by how much of signal the balance `key` can move it."""
        value: Any = self._probe.settings[key]
        return effect(parameter, slopes(lambda tried: self.made(key, tried), parameter, value))


def _chosen(desk: Desk, picked: _Picked, node: str) -> str:
    for balances in _balances(desk, node):
        effects = {key: picked.effect(key, parameter) for key, parameter in balances.items()}
        most = max(effects.values(), default=0.0)
        if most >= SEEN:
            return next(key for key, found in effects.items() if found > ABOUT * most)
    raise BadInput(
        "No balance of this chain moves the colour that was picked; switch one on, or add a primary."
    )


def _balances(desk: Desk, first: str) -> Iterator[dict[str, Parameter]]:
    """Yield the balances that are switched on, node by node: those of `first`, then from the chain's end."""
    names = [ref.name for ref in reversed(ordered(desk.reel.chain, desk.catalogue)) if desk.is_on(ref.name)]
    for name in sorted(names, key=lambda name: name != first):
        yield {
            key: parameter
            for key, parameter in desk.controls.parameters.items()
            if key.startswith(f"{name}.") and parameter.kind.axes == PLANE and desk.is_on(key)
        }
