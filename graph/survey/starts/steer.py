"""A correction made by the controls that a chain has: as few of them as come near enough."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final, Protocol

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.order import ordered
from lamphouse.graph.cues.settings import Controls
from lamphouse.graph.grade.probe import Probe, Sample, moved, sampled
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.survey.matching.knobs import knobs_of, switched_on
from lamphouse.graph.survey.starts.correction import Correction
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.parameter import Kind
from lamphouse.nodes.tonal_range import TonalRange
from lamphouse.nodes.values import Settings, Value

# Balances are tried in this order, until the correction is made: highlights first, for they are gains.
TONES: Final = (
    (TonalRange.HIGHLIGHTS,),
    (TonalRange.MIDDLE, TonalRange.HIGHLIGHTS),
    (TonalRange.SHADOWS, TonalRange.MIDDLE, TonalRange.HIGHLIGHTS),
)
NEAR: Final = 0.003  # of video signal, root mean square: three codes of ten bits
TURNS: Final = 8
STEP: Final = 1e-3
STIFF: Final = 1e-3  # of signal for a number moved by 1: what does nothing stays where it is
LIGHT: Final = "stops"  # the unit of a control of exposure
PLANE: Final = 2


class Movable(Protocol):
    """Some numbers of a chain, moved together."""

    @property
    def size(self) -> int:
        """How many there are."""

    def moved(self, by: NDArray[np.float64], *, rounds: bool = True) -> dict[str, Value]:
        """Return the values of their parameters once each has moved by `by`, (size,)."""


@dataclass(frozen=True, slots=True)
class Lamp:
    """The white of a light and the exposure, for chains without balances of tones."""

    keys: tuple[str, ...]
    controls: Controls
    settings: Settings

    @property
    def size(self) -> int:
        """How many numbers there are: two of a white, one of exposure."""
        return sum(max(1, self.controls.parameters[key].kind.axes) for key in self.keys)

    def moved(self, by: NDArray[np.float64], *, rounds: bool = True) -> dict[str, Value]:
        """Return them moved, held within their ranges."""
        values: dict[str, Value] = {}
        for key in self.keys:
            parameter, value = self.controls.parameters[key], self.settings[key]
            if parameter.kind is Kind.NUMBER:
                values[key] = parameter.within(float(value) + float(by[0]))  # type: ignore[arg-type]
                by = by[1:]
            else:
                values[key] = moved(parameter, value, by[:PLANE])
                by = by[PLANE:]
        return {key: _rounded(value) for key, value in values.items()} if rounds else values


def _rounded(value: Any) -> Value:
    return tuple(round(n, 5) for n in value) if isinstance(value, tuple) else round(value, 4)


class Chain:
    """A reel's chain, ready to make corrections under any settings."""

    def __init__(self, opened: OpenedReel) -> None:
        self._opened, self._program, self.controls = opened, opened.program(), opened.controls()
        self._aspect = float(Fraction(opened.reel.scan.pixel_aspect))

    def making(
        self, correction: Correction, stored: Mapping[str, Any], scanned: NDArray[Any]
    ) -> dict[str, Any]:
        """Return settings that make `correction` of what the chain shows under a cue that has `stored` some.

        `scanned` is a small picture of the scan, (3, h, w), on whose colours it is made. Raises BadInput for
        a chain that has nothing to make it with.
        """
        settings = self.controls.effective(self.controls.check(stored, ""))
        probe = Probe(self._program, settings)
        sample = sampled(scanned, self._aspect)
        wanted = correction.apply(probe.changed(sample, {}))
        best: tuple[float, dict[str, Value]] | None = None
        for movable in self._movable(settings):
            found = _solved(probe, sample, movable, wanted)
            if best is None or found[0] < best[0] - NEAR / 2:
                best = found
            if best[0] < NEAR:
                break
        if best is None:
            raise BadInput("The chain has no balance to start with; put a primary into it.")
        return switched_on(stored, best[1], self.controls)

    def _movable(self, settings: Settings) -> list[Movable]:
        found: list[Movable] = []
        for tones in TONES:
            with suppress(BadInput):
                found.append(knobs_of(self._opened, self.controls, settings, tones))
        return found or self._lamp(settings)

    def _lamp(self, settings: Settings) -> list[Movable]:
        chain = self._opened.reel.chain
        names = [ref.name for ref in reversed(ordered(chain, self._opened.catalogue))]
        keys = [key for name in names for key in self.controls.parameters if key.startswith(f"{name}.")]
        parameters = self.controls.parameters
        whites = [key for key in keys if parameters[key].kind is Kind.WHITE]
        lights = [key for key in keys if parameters[key].unit == LIGHT]
        taken = (*whites[:1], *lights[:1])
        return [Lamp(taken, self.controls, settings)] if taken else []


def _solved(
    probe: Probe, sample: Sample, movable: Movable, wanted: NDArray[np.float64]
) -> tuple[float, dict[str, Value]]:
    """Return how far off `wanted` the nearest is, root mean square, and its settings, by Gauss and Newton."""

    def miss(by: NDArray[np.float64]) -> NDArray[np.float64]:
        made = probe.changed(sample, movable.moved(by, rounds=False))
        return np.asarray(np.nan_to_num(made - wanted)).ravel()

    by, missed = np.zeros(movable.size), miss(np.zeros(movable.size))
    for _ in range(TURNS):
        slopes = np.stack([miss(by + STEP * unit) - missed for unit in np.eye(movable.size)], axis=1) / STEP
        stiff = STIFF * np.sqrt(len(missed)) * np.eye(movable.size)
        step, *_ = np.linalg.lstsq(
            np.vstack([slopes, stiff]), np.concatenate([-missed, np.zeros(movable.size)]), rcond=None
        )
        there = miss(by + step)
        if there @ there >= missed @ missed:
            break
        by, missed = by + step, there
        if there @ there < (NEAR / 4) ** 2 * len(there):
            break
    return float(np.sqrt(np.mean(missed**2))), movable.moved(by)
