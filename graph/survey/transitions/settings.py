"""The settings that make a changed light look as it did before, found through the reel's own chain."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from lamphouse.graph.cues.easing import EVEN, eased
from lamphouse.graph.cues.settings import Controls
from lamphouse.graph.grade.probe import Probe, Sample, sampled
from lamphouse.graph.grade.visibility import Visibility, visibility
from lamphouse.graph.reel.counters import counter
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.survey.matching.distance import Array
from lamphouse.graph.survey.matching.knobs import knobs_of
from lamphouse.graph.survey.matching.match import Graded
from lamphouse.graph.survey.transitions.light import STOPS
from lamphouse.graph.survey.transitions.ramps import Ease, Ramp
from lamphouse.nodes.tonal_range import TonalRange
from lamphouse.nodes.values import Settings, Value

COST: Final = 0.02  # of CIELAB, for a number's usual way: what no picture shows is left as it is (our choice)

LEFT: Final = 0.05  # of a change: as much may stay where highlights are moved alone (our choice)


@dataclass(frozen=True, slots=True)
class Countered:
    """Settings before and after a change of light, how they pass, and what the meter shows of it."""

    begin: Mapping[str, Value]
    settings: Mapping[str, Value]
    ease: Ease
    meter: Visibility


def countered(
    opened: OpenedReel, settings: Settings, pictures: Sequence[NDArray[Any]], ramp: Ramp
) -> Countered:
    """Return what undoes a change of light on a reel's chain under `settings`, those before it.

    `pictures`, (3, h, w), are of the scan before the change, in video signal. More light is more gain, so
    that the controls of highlights do alone where they can, as they can but behind a negative's black. They
    pass as the light does, but evenly where the meter would be over its mark. Raises BadInput for a chain
    that is not whole, or has no controls.
    """
    probe, controls = Probe(_on_video(opened).program(), settings), opened.controls()
    before = _samples(opened, pictures)
    after = [_lit(sample, ramp) for sample in before]
    found = _found(opened, controls, probe, before, after)
    begin = {key: settings[key] for key in found}

    rate = counter(opened.reel).rate

    def meter(ease: Ease) -> Visibility:
        def seen(frame: int) -> Array:
            share = eased(ease, frame - ramp.first, ramp.stop - ramp.first)
            values = _between(begin, found, share, controls)
            return np.concatenate([probe.changed(one, values).reshape(3, -1) for one in before], axis=1).T

        return visibility(seen, ramp.first, ramp.stop + 1, rate)

    as_light = meter(ramp.ease)
    if as_light.is_over and ramp.ease != EVEN:
        return Countered(begin, found, "even", meter("even"))
    return Countered(begin, found, ramp.ease, as_light)


def laid_along(
    begin: Mapping[str, Value], end: Mapping[str, Value], now: Settings, controls: Controls
) -> dict[str, Value]:
    """Return `now` moved by the way from `begin` to `end`, each number as it travels, held in its range."""
    laid: dict[str, Value] = {}
    for key, value in end.items():
        parameter = controls.parameters[key]
        to, start, here = (
            np.array([parameter.travel.position(n) for n in np.atleast_1d(np.asarray(each, np.float64))])
            for each in (value, begin.get(key, now[key]), now[key])
        )
        numbers = [parameter.within(parameter.travel.at(float(n))) for n in here + to - start]
        laid[key] = tuple(numbers) if isinstance(value, list | tuple) else numbers[0]
    return laid


def _on_video(opened: OpenedReel) -> OpenedReel:
    """Return the reel as though its scan held video signal: it is of that that the light is known."""
    scan = replace(opened.reel.scan, encoding="video", primaries=None)
    return opened.with_reel(replace(opened.reel, scan=scan))


def _samples(opened: OpenedReel, pictures: Sequence[NDArray[Any]]) -> list[Sample]:
    shape = opened.reel.scan.aspect
    return [sampled(picture, shape * picture.shape[1] / picture.shape[2]) for picture in pictures]


def _lit(sample: Sample, ramp: Ramp) -> Sample:
    """Return pixels in the light that there is after a change."""
    gains = np.exp(np.array(ramp.stops) / STOPS)
    return Sample(sample.pixels * gains[:, None, None], sample.pixel_aspect)


def _found(
    opened: OpenedReel, controls: Controls, probe: Probe, before: Sequence[Sample], after: Sequence[Sample]
) -> dict[str, Value]:
    """Return the settings that make what is seen after a change what it was before, pixel by pixel."""
    from scipy.optimize import least_squares

    moved: dict[str, Value] = {}
    for tones in ((TonalRange.HIGHLIGHTS,), tuple(TonalRange)):
        knobs = knobs_of(opened, controls, probe.settings, tones)
        shot, wanted = Graded(probe, after, knobs), Graded(probe, before, knobs).as_it_is().seen

        def misses(by: Array, shot: Graded = shot, wanted: Array = wanted) -> Array:
            apart = (shot.lab(by) - wanted) / np.sqrt(len(wanted))
            return np.concatenate([apart.ravel(), COST * by / shot.usual])

        rest = np.zeros(knobs.size)
        solved = least_squares(misses, rest, method="lm")
        moved = knobs.moved(solved.x)
        if np.linalg.norm(solved.fun) <= LEFT * np.linalg.norm(misses(rest)):
            return moved
    return moved


def _between(
    begin: Mapping[str, Value], end: Mapping[str, Value], share: float, controls: Controls
) -> dict[str, Value]:
    return {key: controls.parameters[key].between(begin[key], value, share) for key, value in end.items()}
