"""Edits of several cues at once, given by their frames. Each reads a cue once, and is one step to undo."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from itertools import count, groupby
from typing import Any

import msgspec

from lamphouse.graph.cues.settings import OFF, SWITCH, Controls, CueList
from lamphouse.graph.edits.cues import check_frame, node_of, reset_settings, set_cue, with_cues
from lamphouse.graph.reel.records import Cue, Reel
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.parameter import Parameter
from lamphouse.nodes.values import Settings, Travel, Value

Frames = Collection[int]


def set_cues(
    reel: Reel, wanted: Mapping[int, Mapping[str, Any]], controls: Controls, lengths: Mapping[int, int]
) -> Reel:
    """Return `reel` with settings laid over those of the cues at these frames, made where there are none.

    It is `set_cue` for each in order of frames, for thousands at the cost of one; `lengths` are those of
    transitions by which some of them begin. Raises BadInput where any of it cannot be.
    """
    cues = CueList(reel.cues, controls)
    for parts, frames in groupby(sorted(wanted), key=lambda frame: cues.arriving(frame) is not None):
        some = {frame: wanted[frame] for frame in frames}
        if not parts:
            reel = _with_laid_over(reel, some, controls, lengths)
            continue
        for frame, settings in some.items():  # each parts a transition, which the next may part again
            begins = {"begins": "transition", "length": lengths[frame]} if frame in lengths else {}
            reel = set_cue(reel, frame, controls, settings, **begins)
    return reel


def _with_laid_over(
    reel: Reel, wanted: Mapping[int, Mapping[str, Any]], controls: Controls, lengths: Mapping[int, int]
) -> Reel:
    own, found, held = {cue.frame: cue for cue in reel.cues}, [], Cue(frame=0)
    for frame in sorted({*own, *wanted}):
        check_frame(reel, frame)
        held = own.get(frame) or Cue(frame=frame, settings=dict(held.settings))
        if frame in wanted:
            settings = {**held.settings, **controls.check(wanted[frame], "")}
            held = msgspec.structs.replace(held, settings=settings)
        if frame in lengths:
            held = msgspec.structs.replace(held, begins="transition", length=lengths[frame])
        found.append(held)
    return with_cues(reel, found, controls)


def give_grade(
    reel: Reel, frames: Frames, source: Mapping[str, Any], controls: Controls, nodes: Collection[str] = ()
) -> Reel:
    """Return `reel` with the settings `source` in each of these cues: those of some `nodes` alone, or all."""

    def given(cue: Cue) -> dict[str, Any]:
        kept = {key: value for key, value in cue.settings.items() if nodes and node_of(key) not in nodes}
        return kept | {key: value for key, value in source.items() if not nodes or node_of(key) in nodes}

    return _with_settings(reel, frames, controls, given)


def average(reel: Reel, frames: Frames, controls: Controls) -> Reel:
    """Return `reel` with the mean of these cues in each of them, every parameter in its own way of travel.

    What changes in one step, a choice or a file, stays as each has it. What is off in some counts as neutral
    there and is on in all afterwards; what is off in all of them stays as it is. Raises BadInput for one cue.
    """
    chosen = [cue for cue in reel.cues if cue.frame in frames]
    if len(chosen) < 2:
        raise BadInput("An average is of two cues or more; choose another as well.")
    effective = [_effective(cue, controls) for cue in chosen]
    taken = [key for key in controls.parameters if not all(_is_off(cue, key) for cue in chosen)]
    means = {
        key: mean(controls.parameters[key], [values[key] for values in effective])
        for key in taken
        if controls.parameters[key].travel is not Travel.STEP
    }
    replaced = {*taken, *(f"{of}.{SWITCH}" for key in taken for of in (key, node_of(key)))}
    neutral = controls.neutral

    def averaged(cue: Cue) -> dict[str, Any]:
        now = _effective(cue, controls)
        values = {key: means.get(key, now[key]) for key in taken}
        kept = {key: value for key, value in cue.settings.items() if key not in replaced}
        return kept | {key: value for key, value in values.items() if value != neutral[key]}

    return _with_settings(reel, frames, controls, averaged)


def mean(parameter: Parameter, values: Sequence[Value]) -> Value:
    """Return the mean of values of a parameter in its own way of travel: of gains the geometric one."""
    found = values[0]
    for number, value in enumerate(values[1:], 2):
        found = parameter.between(found, value, 1 / number)
    return found


def carry(reel: Reel, frames: Frames, before: Cue, after: Cue, controls: Controls) -> Reel:
    """Return `reel` with what changed of a cue's settings, from `before` to `after`, changed in these too.

    A number moves by the same amount in its own way of travel, a gain by the same ratio, to the end of its
    range at most; a curve, a choice and a switch are set to what they became.
    """
    old, new = (controls.check(cue.settings, "") for cue in (before, after))
    changed = [key for key in {**old, **new} if old.get(key) != new.get(key)]

    def carried(cue: Cue) -> dict[str, Any]:
        settings = controls.check(cue.settings, "")
        for key in changed:
            _carry_one(settings, key, old, new, controls)
        return settings

    return _with_settings(reel, frames, controls, carried)


def _carry_one(
    settings: dict[str, Value], key: str, old: Settings, new: Settings, controls: Controls
) -> None:
    parameter = controls.parameters.get(key)
    if parameter is not None:
        own, start, end = (of.get(key, parameter.default) for of in (settings, old, new))
        settings[key] = shifted(parameter, own, start, end)
    elif key in new:
        settings[key] = new[key]
    else:
        settings.pop(key, None)


def shifted(parameter: Parameter, value: Any, start: Any, end: Any) -> Value:
    """Return `value` moved as far as from `start` to `end`, as it travels; a curve becomes `end`."""
    kind, travel = parameter.kind, parameter.travel
    if kind.axes == 0:
        return end  # type: ignore[no-any-return]  # a value of the parameter
    if kind.axes == 1:
        moved = travel.position(value) + travel.position(end) - travel.position(start)
        return parameter.within(travel.at(moved))
    places = (kind.position(each, parameter) for each in (value, start, end))
    return kind.at(tuple(v + b - a for v, a, b in zip(*places, strict=True)), parameter)


def reset(reel: Reel, frames: Frames, controls: Controls) -> Reel:
    """Return `reel` with all that these cues set back to neutral, but for nodes that are missing here."""
    return _with_settings(reel, frames, controls, lambda cue: reset_settings(cue, controls))


def remove(reel: Reel, frames: Frames, controls: Controls) -> Reel:
    """Return `reel` without these cues; the transitions of the others stay as long as they were."""
    return with_cues(reel, (cue for cue in reel.cues if cue.frame not in frames), controls)


def rename(reel: Reel, frames: Frames, name: str, controls: Controls) -> Reel:
    """Return `reel` with these cues called `name` and 1, 2, 3 in their order; with no name, by none."""
    numbers = count(1)
    return _changed(
        reel, frames, controls, lambda cue: {"name": f"{name} {next(numbers)}" if name.strip() else ""}
    )


def _with_settings(
    reel: Reel, frames: Frames, controls: Controls, settings: Callable[[Cue], dict[str, Any]]
) -> Reel:
    return _changed(reel, frames, controls, lambda cue: {"settings": settings(cue)})


def _changed(reel: Reel, frames: Frames, controls: Controls, change: Callable[[Cue], dict[str, Any]]) -> Reel:
    cues = [msgspec.structs.replace(cue, **change(cue)) if cue.frame in frames else cue for cue in reel.cues]
    return with_cues(reel, cues, controls)


def _effective(cue: Cue, controls: Controls) -> Settings:
    return controls.effective(controls.check(cue.settings, ""))


def _is_off(cue: Cue, key: str) -> bool:
    return OFF in (cue.settings.get(f"{of}.{SWITCH}") for of in (key, node_of(key)))
