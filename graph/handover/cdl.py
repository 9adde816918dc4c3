"""A cue as the ten numbers of an ASC CDL, where it is one; and the reason where it is not.

ASC CDL v1.2 (2009) was not seen; its formulae as the CLF specification v3.0 restates them: slope, offset and
power in each channel, then saturation about a fixed luma.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, NoReturn

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.program import node_settings
from lamphouse.graph.chain.resolve import resolve
from lamphouse.graph.handover.segments import Segment, segments
from lamphouse.graph.reel import Reel
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.corrections.saturation import LUMA_ROWS
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.trace import PICTURE, Expression

KINDS: Final = ("primary", "cdl", "saturation")  # nodes that are CDLs by themselves
POWERS: Final = ("power", "power_above_zero")
LUMA: Final = LUMA_ROWS[0]
CLOSE: Final = 1e-9

# Initials of the steps of a program that may be a CDL: straight, bounds, power, straight, bounds.
FORM: Final = re.compile("s*b?p?s*b?")

Array = NDArray[np.float64]
Triple = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Cdl:
    """Slope, offset and power of red, green and blue, and saturation."""

    slope: Triple = (1.0, 1.0, 1.0)
    offset: Triple = (0.0, 0.0, 0.0)
    power: Triple = (1.0, 1.0, 1.0)
    saturation: float = 1.0

    def apply(self, rgb: NDArray[Any]) -> NDArray[Any]:
        """Return `rgb` (3, n) under style FwdNoClamp: values below zero pass the power unchanged."""
        sloped = rgb * _column(self.slope) + _column(self.offset)
        raised = np.where(sloped > 0, np.maximum(sloped, 0) ** _column(self.power), sloped)
        luma = np.tensordot(LUMA, raised, axes=1)
        return np.asarray(luma + self.saturation * (raised - luma))


class _Inexact(Exception):
    """Why a program is no CDL, as a clause."""


def exact_cdl(
    program: Expression, reel: Reel, settings: Mapping[str, Any], catalogue: Catalogue
) -> tuple[Cdl, bool]:
    """Return the CDL that a bound `program` is, and whether it holds values to 0..1 as style Fwd does.

    It is exact for values that slope and offset leave at zero or above. Raises BadInput with the reason
    where the program is no CDL; `settings` are the effective ones of the cue.
    """
    try:
        steps = [_step(part) for part in segments(program)]
        return _read(_without_bounds(steps)), any(step[0] == "bounds" for step in steps)
    except _Inexact as reason:
        clause = _in_the_way(reel, settings, catalogue) or str(reason)
    raise BadInput(f"This cue is no exact CDL: {clause}; give --fit for the nearest one and its error.")


def _in_the_way(reel: Reel, settings: Mapping[str, Any], catalogue: Catalogue) -> str:
    """Return what keeps the chain from being a CDL, in a person's words, where one thing can be named."""
    if reel.scan.encoding != "video":
        return f"the scan is in {reel.scan.encoding}, and a CDL knows nothing of signals"
    for ref in reel.chain.nodes:
        defaults = resolve(ref, catalogue).defaults()
        if ref.kind not in KINDS and node_settings(settings, ref.name) != defaults:
            return f"the node {ref.name} ({ref.kind}) cannot be said in its ten numbers"
    return ""


def _read(steps: list[tuple[Any, ...]]) -> Cdl:
    """Return the CDL that these steps are, in order."""
    first, last, added = np.eye(3), np.eye(3), np.zeros(3)
    raised: Array | None = None
    for kind, *numbers in steps:
        if kind == "power":
            raised = np.array(numbers[0], np.float64)
        elif raised is None:
            first, added = numbers[0] @ first, numbers[0] @ added + numbers[1]
        else:
            if np.abs(numbers[1]).max() > CLOSE:
                _refuse("something is added after the power")
            last = numbers[0] @ last
    if raised is None:
        return _straight(first, added)
    if np.abs(first - np.diag(np.diag(first))).max() > CLOSE:
        _refuse("colours meet before the power")
    slope, saturation = _split(last)
    if np.abs(slope - 1).max() > CLOSE:
        _refuse("something is scaled after the power")
    return _made(np.diag(first), added, raised, saturation)


def _step(part: Segment) -> tuple[Any, ...]:
    """Return ("straight", rows, added), ("power", exponents) or ("bounds",)."""
    if (straight := part.affine()) is not None:
        return ("straight", straight[0], straight[1][:, 0])
    step = part.program
    constants = [a.value for a in step.arguments[1:] if a.value is not None]
    is_simple = len(step.arguments) == len(constants) + 1 and step.arguments[0].primitive == PICTURE
    if is_simple and step.primitive in POWERS:
        return ("power", np.broadcast_to(np.asarray(constants[0]), (3, 1))[:, 0])
    if is_simple and step.primitive == "clamp" and [float(np.max(c)) for c in constants] == [0.0, 1.0]:
        return ("bounds",)
    raise _Inexact(f"it holds {part.words}")


def _without_bounds(steps: list[tuple[Any, ...]]) -> list[tuple[Any, ...]]:
    """Return the steps without the bounds of a CDL of style Fwd: before the power, and at the end."""
    if not FORM.fullmatch("".join(step[0][0] for step in steps)):
        _refuse("values are held to 0 and 1 where a CDL does not hold them, or powers follow one another")
    return [step for step in steps if step[0] != "bounds"]


def _straight(rows: Array, added: Array) -> Cdl:
    slope, saturation = _split(rows)
    offset = added
    if saturation > CLOSE:
        offset = np.asarray(np.linalg.solve(_saturating(saturation), added), np.float64)
    elif np.ptp(added) > CLOSE:
        _refuse("colour is added after the saturation")
    return _made(slope, offset, np.ones(3), saturation)


def _split(rows: Array) -> tuple[Array, float]:
    """Return slope and saturation where `rows` is slope and then saturation: luma tells the slope."""
    slope = LUMA @ rows / LUMA
    saturation = 1.0
    if (some := np.flatnonzero(slope > CLOSE)).size:
        column = int(some[0])
        saturation = 1 - rows[(column + 1) % 3, column] / (LUMA[column] * slope[column])
    if np.abs(_saturating(saturation) * slope - rows).max() > CLOSE * max(1.0, np.abs(rows).max()):
        _refuse("its colours are mixed otherwise than by saturation")
    return slope, float(saturation)


def _saturating(amount: float) -> Array:
    return np.asarray(np.eye(3) * amount + LUMA_ROWS * (1 - amount))


def _made(slope: Array, offset: Array, power: Array, saturation: float) -> Cdl:
    if slope.min() < 0 or saturation < -CLOSE:
        _refuse("a slope or the saturation is below zero")
    return Cdl(_triple(slope), _triple(offset), _triple(power), max(0.0, float(saturation)))


def _triple(values: Array) -> Triple:
    red, green, blue = (float(value) for value in values)
    return red, green, blue


def _column(values: Triple) -> Array:
    return np.array(values)[:, None]


def _refuse(clause: str) -> NoReturn:
    raise _Inexact(clause)
