"""The settings at a frame: a pure function of cues and tracks, whatever was asked before."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from functools import cached_property
from types import MappingProxyType
from typing import Any, Final

from lamphouse.graph.chain.resolve import missing, resolve
from lamphouse.graph.cues.easing import check_ease, eased
from lamphouse.graph.cues.tracks import Tracks
from lamphouse.graph.reel.records import ChainRef, Cue, Track
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput, near_names
from lamphouse.nodes.framing import FRAMING, PARAMETERS
from lamphouse.nodes.parameter import Parameter
from lamphouse.nodes.values import Settings, Value

SWITCH: Final = "on"  # `node.on` and `node.parameter.on` are the switches
ON: Final = "on"
OFF: Final = "off"


class Controls:
    """Every parameter and switch of a chain and of framing by its full name, as a cue's settings use them."""

    def __init__(self, chain: ChainRef, catalogue: Catalogue) -> None:
        self.catalogue = catalogue
        self.parameters: dict[str, Parameter] = {}
        self.switches: list[str] = []
        self._known: dict[int, tuple[Cue, Settings]] = {}
        self._missing = tuple(f"{ref.name}." for ref in missing(chain, catalogue))
        for ref in chain.nodes:
            self._add(ref.name, resolve(ref, catalogue).parameters)
        self._add(FRAMING, PARAMETERS)

    def _add(self, node: str, parameters: Sequence[Parameter]) -> None:
        self.switches.append(f"{node}.{SWITCH}")
        for parameter in parameters:
            name = f"{node}.{parameter.name}"
            self.parameters[name] = parameter
            self.switches.append(f"{name}.{SWITCH}")

    @cached_property
    def neutral(self) -> Settings:
        """Every parameter at the value that changes nothing."""
        return MappingProxyType({name: p.default for name, p in self.parameters.items()})

    def check(self, settings: Mapping[str, Any], where: str) -> dict[str, Value]:
        """Return `settings` in their parameters' forms, or raise BadInput that says where.

        Those of a missing node are kept as they are.
        """
        return {
            key: value if key.startswith(self._missing) else self._check(key, value, where)
            for key, value in settings.items()
        }

    def parse(self, key: str, text: str) -> Value:
        """Return what a person typed for the parameter or switch `key`."""
        if key.startswith(self._missing):
            raise BadInput(
                f"{key} belongs to a node that is missing here; its settings are kept as they are."
            )
        if key in self.switches:
            return self._check(key, text, "")
        return self._parameter(key, "").parse(text, key)

    def is_file(self, key: str) -> bool:
        """Say whether the parameter `key` names a file, which a reel stores relative to itself."""
        return key in self.parameters and self.parameters[key].kind.is_file

    def effective(self, settings: Mapping[str, Value]) -> Settings:
        """Return every parameter's value, neutral where it is not set or switched off."""
        values = dict(self.neutral)
        for key, value in settings.items():
            if key in values and not is_off(key, settings):
                values[key] = value
        return MappingProxyType(values)

    def effective_of(self, cues: tuple[Cue, ...]) -> list[Settings]:
        """Return each cue's checked values; those of cues that were there before are not checked anew.

        Each step of a drag makes a new list of which one cue is new.
        """
        known = self._known
        self._known = {id(cue): known.get(id(cue)) or (cue, self._of(cue)) for cue in cues}
        return [values for _, values in self._known.values()]

    def _of(self, cue: Cue) -> Settings:
        return self.effective(self.check(cue.settings, f"Cue at frame {cue.frame}: "))

    def tracks(self, tracks: Sequence[Track]) -> Tracks:
        """Return `tracks` made ready to be laid over settings. Raises BadInput for those that cannot be."""
        return Tracks(tracks, self.parameters, self._missing)

    def _check(self, key: str, value: Any, where: str) -> Value:
        if key not in self.switches:
            return self._parameter(key, where).check(value, f"{where}{key}")
        if value in (ON, OFF):
            return str(value)
        raise BadInput(f"{where}{key} = {value} is not a switch position; give on or off.")

    def _parameter(self, key: str, where: str) -> Parameter:
        if key in self.parameters:
            return self.parameters[key]
        hint = near_names(key, self.parameters)
        raise BadInput(f"{where}{key} is not a parameter of this reel's chain{hint}.")


def is_off(key: str, settings: Mapping[str, Any]) -> bool:
    """Say whether the parameter `key` or its node is switched off by the `settings` of a cue."""
    node = key.split(".", 1)[0]
    return OFF in (settings.get(f"{node}.{SWITCH}"), settings.get(f"{key}.{SWITCH}"))


class CueList:
    """Cues in order of frame, with the tracks that lie over them, and what holds at each frame."""

    def __init__(self, cues: tuple[Cue, ...], controls: Controls, tracks: Sequence[Track] = ()) -> None:
        self._controls = controls
        self.tracks = controls.tracks(tracks)
        self.cues = tuple(sorted(cues, key=lambda cue: cue.frame))
        self._frames = [cue.frame for cue in self.cues]
        _check_cues(self.cues)
        self._effective = controls.effective_of(self.cues)

    def holding(self, frame: int) -> int | None:
        """Return the index of the last cue at or before `frame`, or None before the first."""
        index = bisect_right(self._frames, frame) - 1
        return index if index >= 0 else None

    def holding_in(self, frames: range) -> list[Settings]:
        """Return what cues set that hold somewhere in `frames`, in order.

        A transition and a track choose as these do.
        """
        first, last = (bisect_right(self._frames, at) - 1 for at in (frames.start, frames.stop - 1))
        return [self.held(index if index >= 0 else None) for index in range(first, last + 1)]

    def arriving(self, frame: int) -> int | None:
        """Return the index of the next cue if its transition has begun at `frame`, or None."""
        index = bisect_right(self._frames, frame)
        if index == len(self.cues):
            return None
        cue = self.cues[index]
        return index if cue.begins == "transition" and frame > cue.frame - cue.length else None

    def is_moving(self, frame: int) -> bool:
        """Say whether a transition or a track may make other settings at `frame` than a cue holds."""
        return self.arriving(frame) is not None or bool(self.tracks.over(frame))

    def steady_until(self, frame: int) -> int | None:
        """Return the first frame after `frame` where other settings may hold; None where there is none."""
        index, until = bisect_right(self._frames, frame), self.tracks.steady_until(frame)
        if index == len(self.cues):
            return until
        cue = self.cues[index]
        arrives = max(frame + 1, cue.frame - max(cue.length, 1) + 1)
        return arrives if until is None else min(arrives, until)

    def at(self, frame: int) -> Settings:
        """Return the value of every parameter at `frame`, switches applied.

        The last cue at or before the frame holds; before the first, all is neutral. Where the
        next cue's transition has begun, each parameter travels its own way under its easing. What a
        track moves is moved at both ends of the way, but where it is switched off.
        """
        amounts = self.tracks.at(frame)
        held = self._moved(self.holding(frame), amounts)
        arriving = self.arriving(frame)
        if arriving is None:
            return held
        cue = self.cues[arriving]
        share = eased(cue.ease, frame - (cue.frame - cue.length), cue.length)
        target = self._moved(arriving, amounts)
        parameters = self._controls.parameters
        return MappingProxyType(
            {key: parameters[key].between(value, target[key], share) for key, value in held.items()}
        )

    def held(self, index: int | None) -> Settings:
        """Return the settings of the cue of that index, or neutral ones for None; no track moves them."""
        return self._controls.neutral if index is None else self._effective[index]

    def _moved(self, index: int | None, amounts: Mapping[str, float]) -> Settings:
        own = {} if index is None else self.cues[index].settings
        on = {key: by for key, by in amounts.items() if not is_off(key, own)}
        return MappingProxyType(self.tracks.laid(self.held(index), on)) if on else self.held(index)


def _check_cues(cues: tuple[Cue, ...]) -> None:
    before: Cue | None = None
    for cue in cues:
        where = f"Cue at frame {cue.frame}"
        if before is not None and before.frame == cue.frame:
            raise BadInput(f"There are two cues at frame {cue.frame}; remove one.")
        if cue.begins == "transition":
            check_ease(cue.ease, where)
            _check_length(cue, before.frame if before else 0, where)
        before = cue


def _check_length(cue: Cue, earliest: int, where: str) -> None:
    if cue.length < 1:
        raise BadInput(f"{where}: a transition needs a length of at least 1 frame; give --length.")
    if cue.frame - cue.length < earliest:
        room = cue.frame - earliest
        raise BadInput(
            f"{where}: its transition of {cue.length} frames would begin before frame {earliest}, where the "
            f"settings that it starts from are set; its length can be at most {room}."
        )
