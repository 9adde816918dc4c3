"""Tracks: by how much parameters are moved at a frame, over what the cues set there."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from itertools import pairwise
from operator import attrgetter, itemgetter
from typing import Final

from lamphouse.graph.reel.records import Track
from lamphouse.nodes.errors import BadInput, near_names
from lamphouse.nodes.parameter import Kind, Parameter
from lamphouse.nodes.values import Settings, Travel, Value

_BY_FRAME: Final = attrgetter("frame")
_BY_KEY: Final = itemgetter(0)


class Tracks:
    """The tracks of a reel that are on; at any frame at most one lies over a parameter.

    Those of parameters that are not among `parameters` must be of a node that is `missing` here, and lie
    still. Raises BadInput for others, for those of what is no number, and where two lie over each other.
    """

    def __init__(
        self, tracks: Sequence[Track], parameters: Mapping[str, Parameter], missing: tuple[str, ...] = ()
    ) -> None:
        self._parameters = parameters
        lying: dict[str, list[Track]] = {}
        for track in sorted(tracks, key=_BY_FRAME):
            if track.parameter in parameters or not track.parameter.startswith(missing):
                check_track(track, parameters)
                lying.setdefault(track.parameter, []).append(track)
        for of_one in lying.values():
            _check_apart(of_one)
        on = {key: [track for track in of_one if track.is_on] for key, of_one in lying.items()}
        self._lying = {key: of_one for key, of_one in on.items() if of_one}
        tracks_on = [track for of_one in self._lying.values() for track in of_one]
        self._edges = sorted({edge for track in tracks_on for edge in (track.frame, track.stop)})

    def over(self, frame: int) -> dict[str, Track]:
        """Return the track that lies over each parameter at `frame`; of the others there is none in it."""
        return {key: track for key in self._lying if (track := self._track(key, frame)) is not None}

    def at(self, frame: int) -> dict[str, float]:
        """Return by how much each parameter is moved at `frame`; those that stay are not in it."""
        travels = {key: self._parameters[key].travel for key in self._lying}
        found = {key: amount_at(track, frame, travels[key]) for key, track in self.over(frame).items()}
        return {key: amount for key, amount in found.items() if amount != neutral(travels[key])}

    def laid(self, settings: Settings, amounts: Mapping[str, float]) -> dict[str, Value]:
        """Return `settings` moved by these amounts, each parameter within its range."""
        moved = {key: _moved(settings[key], by, self._parameters[key]) for key, by in amounts.items()}
        return {**settings, **moved}

    def steady_until(self, frame: int) -> int | None:
        """Return the first frame after `frame` at which other amounts may hold; None where there is none."""
        if self.over(frame):
            return frame + 1
        index = bisect_right(self._edges, frame)
        return self._edges[index] if index < len(self._edges) else None

    def _track(self, key: str, frame: int) -> Track | None:
        lying = self._lying[key]
        index = bisect_right(lying, frame, key=_BY_FRAME) - 1
        return lying[index] if index >= 0 and frame < lying[index].stop else None


def neutral(travel: Travel) -> float:
    """Return the amount that moves nothing: 0 where it is added, 1 where it multiplies."""
    return travel.at(0.0)


def amount_at(track: Track, frame: int, travel: Travel) -> float:
    """Return the amount at `frame`: evenly between keys, and before the first and after the last as there."""
    keys = track.keys
    index = bisect_right(keys, frame, key=_BY_KEY)
    if index in (0, len(keys)):
        return float(keys[max(index - 1, 0)][1])
    (start, before), (stop, after) = keys[index - 1 : index + 1]
    return before if frame == start else travel.between(before, after, (frame - start) / (stop - start))


def check_track(track: Track, parameters: Mapping[str, Parameter]) -> None:
    """Raise BadInput for a track of what is no number among `parameters`, and for keys it cannot have."""
    where, parameter = f"The track at frame {track.frame}", parameters.get(track.parameter)
    if parameter is None:
        hint = near_names(track.parameter, parameters)
        raise BadInput(f"{where}: {track.parameter} is not a parameter of this reel's chain{hint}.")
    if parameter.kind is not Kind.NUMBER:
        raise BadInput(f"{where}: {track.parameter} is no single number; a track can only move one.")
    if parameter.travel is Travel.LOG and min(amount for _, amount in track.keys) <= 0:
        raise BadInput(f"{where}: {track.parameter} is multiplied by its keys, which must be above 0.")


def _check_apart(lying: Sequence[Track]) -> None:
    for one, other in pairwise(lying):
        if other.frame < one.stop:
            raise BadInput(
                f"Two tracks move {other.parameter} at frame {other.frame}; remove or shorten one of them."
            )


def _moved(value: Value, by: float, parameter: Parameter) -> float:
    assert isinstance(value, float | int)  # no other kind has a track
    travel = parameter.travel
    return parameter.within(travel.at(travel.position(value) + travel.position(by)))
