"""The balance that makes a picked colour what it was, grey or skin, found on the chain as it is."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.order import ordered
from lamphouse.graph.grade.patches import Patch
from lamphouse.graph.grade.probe import (
    MATRIX,
    SEEN,
    Array,
    Probe,
    Sample,
    effect,
    moved,
    sampled,
    slopes,
    steering,
)
from lamphouse.graph.media.codes.ycbcr import encode_matrix
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.parameter import Parameter
from lamphouse.nodes.values import Value

TURNS: Final = 12
CLOSE: Final = 2e-4  # of signal: a fifth of a 10-bit code
PLANE: Final = 2  # axes of a hand that moves it: what a balance is
ABOUT: Final = 0.9  # of the effect of another balance: then the one that the node names first is taken
LEAST: Final = 0.02  # of signal: nearer to black a colour says nothing of the light

# The hue of skin on the plane of Cb and Cr, in degrees from +Cb to +Cr: common practice; the two skins of the
# ColorChecker lie at 122 and 123 there (sRGB 115 82 68 and 194 150 130).
SKIN_HUE: Final = np.radians(123.0)
# Its chroma as a share of its luma: that of these two. Its luma: theirs, with a stop of light more either way
# (our choice).
SKIN_CHROMA: Final = (0.17, 0.23)
SKIN_LUMA: Final = (0.26, 0.83)


@dataclass(frozen=True, slots=True)
class Goal:
    """What a picked colour should come out as: from its Y', Cb, Cr of ITU-R BT.709 to those wanted, (3,).

    `failed` is what a person is told where no balance reaches that.
    """

    of: Callable[[Array], Array]
    failed: str


def _grey(found: Array) -> Array:
    return np.array([found[0], 0.0, 0.0])


def _skin(found: Array) -> Array:
    """Return the nearest skin: on the line of its hue, no paler, stronger, darker or lighter than skin is."""
    hue = np.array([np.cos(SKIN_HUE), np.sin(SKIN_HUE)])
    chroma = np.clip(hue @ found[1:] / found[0], *SKIN_CHROMA)
    luma = np.clip(found[0], *SKIN_LUMA)
    return np.array([luma, *(luma * chroma * hue)])


GREY: Final = Goal(_grey, "No balance makes what was picked neutral; pick something that was grey or white.")
SKIN: Final = Goal(_skin, "No balance gives what was picked the hue of skin; pick skin in plain light.")


def neutral_balance(
    made: Callable[[Any], Array], parameter: Parameter, value: Value, goal: Goal = GREY
) -> Value:
    """Return the balance that brings what `made(balance)` gives, (3,), to its goal; `value` is as it is.

    Luma (ITU-R BT.709) comes there too, where the balance can move it. Raises BadInput for a colour that is
    too dark or that no balance within the range brings there.
    """
    found = made(value)
    if found.min() < LEAST:
        raise BadInput("What was picked is too dark to say what is neutral; pick something lighter.")
    signal = encode_matrix(MATRIX)
    wanted, before = goal.of(signal @ found), np.inf
    for _ in range(TURNS):
        miss = wanted - signal @ found
        is_there = np.abs(np.linalg.solve(signal, (0.0, *miss[1:]))).max() < CLOSE
        if is_there and (abs(miss[0]) < CLOSE or abs(miss[0] - before) < CLOSE):
            return value
        before = miss[0]
        value = moved(parameter, value, steering(slopes(made, parameter, value)) @ miss)
        found = made(value)
    raise BadInput(goal.failed)


class Picked:
    """What the chain, as `probe` has it, makes of a colour of the scan, (3,), at a place of the picture.

    `point` is that place in shares of the picture, for mattes.
    """

    def __init__(
        self, probe: Probe, sample: Sample, colour: NDArray[Any], point: tuple[float, float] = (0.5, 0.5)
    ) -> None:
        self.probe, self._sample = probe, sample.all_of(colour)
        self._at = (slice(None), *sample.cell(*point))

    def made(self, key: str, value: Any) -> Array:
        """Return it with another value of the parameter `key`, (3,)."""
        made: Array = self.probe.video(self._sample, key, value)[self._at]
        return made

    def effect(self, key: str, parameter: Parameter) -> float:
        """Return by how much of signal the balance `key` can move it."""
        value: Any = self.probe.settings[key]
        return effect(parameter, slopes(lambda tried: self.made(key, tried), parameter, value))


def picked_balance(
    opened: OpenedReel, own: Mapping[str, Any], picked: Picked, goal: Goal = GREY, node: str = ""
) -> dict[str, Value]:
    """Return the setting of a balance by which a picked colour comes to its goal, by `node.parameter`.

    `own` are the settings of the cue, with their switches. The balance is the one that moves the colour most
    of those of `node`, where that has one, or of the last node of the chain that has. Raises BadInput where
    none does, and as `neutral_balance`.
    """
    parameters = opened.controls().parameters
    key = _chosen(list(_balances(opened, own, node)), picked, parameters)
    value: Any = picked.probe.settings[key]
    return {key: neutral_balance(lambda tried: picked.made(key, tried), parameters[key], value, goal)}


def patch_balance(
    opened: OpenedReel, own: Mapping[str, Any], picture: NDArray[Any], patch: Patch, goal: Goal
) -> dict[str, Value]:
    """Return the setting of a balance by which a patch of the scan's `picture` (3, h, w) comes to its goal.

    Of the patch the median counts, which no speck of dust moves. Raises BadInput as `picked_balance`, and
    for a patch that lies outside.
    """
    colour = np.median(patch.of(picture).reshape(3, -1), axis=1)
    _, height, width = picture.shape
    point = ((patch.left + patch.width / 2) / width, (patch.top + patch.height / 2) / height)
    controls = opened.controls()
    probe = Probe(opened.program(), controls.effective(controls.check(own, "")))
    sample = sampled(picture, float(Fraction(opened.reel.scan.pixel_aspect)))
    return picked_balance(opened, own, Picked(probe, sample, colour, point), goal)


def _chosen(nodes: list[list[str]], picked: Picked, parameters: Mapping[str, Parameter]) -> str:
    for keys in nodes:
        effects = {key: picked.effect(key, parameters[key]) for key in keys}
        most = max(effects.values(), default=0.0)
        if most >= SEEN:
            return next(key for key, found in effects.items() if found > ABOUT * most)
    raise BadInput(
        "No balance of this chain moves the colour that was picked; switch one on, or add a primary."
    )


def _balances(opened: OpenedReel, own: Mapping[str, Any], first: str) -> Iterator[list[str]]:
    """Yield the balances that are switched on, node by node: those of `first`, then from the chain's end."""

    def is_on(switch: str) -> bool:
        return own.get(f"{switch}.on") != "off"

    names = [ref.name for ref in reversed(ordered(opened.reel.chain, opened.catalogue)) if is_on(ref.name)]
    parameters = opened.controls().parameters
    for name in sorted(names, key=lambda name: name != first):
        yield [
            key
            for key, parameter in parameters.items()
            if key.startswith(f"{name}.") and parameter.kind.axes == PLANE and is_on(key)
        ]
