"""Edits of tracks, parameters that move from frame to frame. Each takes a reel and returns another."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from itertools import count
from math import log1p
from typing import Final

import msgspec
import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.cues.settings import Controls
from lamphouse.graph.cues.tracks import amount_at, check_track
from lamphouse.graph.edits.wires import with_name, with_node
from lamphouse.graph.reel.records import ChainRef, Key, NodeRef, Reel, Track
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.values import Travel

EXPOSURE: Final = "exposure"  # the kind of node that takes out a flicker
FLICKER: Final = "flicker"  # what one is called that is put in for it


def tracks_over(reel: Reel, frame: int | None = None) -> tuple[Track, ...]:
    """Return the tracks that lie over `frame`, on or off, or where none is given all of them."""
    return tuple(track for track in reel.tracks if frame is None or track.frame <= frame < track.stop)


def lay(reel: Reel, tracks: Iterable[Track], catalogue: Catalogue) -> Reel:
    """Return `reel` with `tracks` laid over it; those of the same parameters make room for them.

    An exposure for flicker that the chain lacks is put first in it. Raises BadInput for what no track moves.
    """
    tracks = tuple(tracks)
    if any(track.parameter == flicker_parameter(reel.chain) for track in tracks):
        reel = msgspec.structs.replace(reel, chain=_with_exposure(reel.chain, catalogue))
    controls = Controls(reel.chain, catalogue)
    for track in tracks:
        check_track(track, controls.parameters)
        kept = (part for old in reel.tracks for part in _beside(old, track, controls))
        reel = _with_tracks(reel, (*kept, track))
    return reel


def remove(reel: Reel, chosen: Collection[Track]) -> Reel:
    """Return `reel` without the tracks `chosen`."""
    return _changed(reel, chosen, lambda track: None)


def switch(reel: Reel, chosen: Collection[Track], is_on: bool) -> Reel:
    """Return `reel` with the tracks `chosen` on, or off."""
    return _changed(reel, chosen, lambda track: msgspec.structs.replace(track, is_on=is_on))


def thin(reel: Reel, chosen: Collection[Track], error: float, controls: Controls) -> Reel:
    """Return `reel` with the fewest keys in `chosen` that stay within `error` of what they were everywhere.

    That is in the unit of the parameter, or a share of it where keys multiply. What a node that is missing
    here would be moved by stays. Raises BadInput for an error below 0.
    """
    if not error >= 0:
        raise BadInput(f"Keys cannot be thinned to within {error:g}; give an error of 0 or more.")

    def thinned(track: Track) -> Track:
        parameter = controls.parameters.get(track.parameter)
        if parameter is None:
            return track
        return msgspec.structs.replace(track, keys=thinned_keys(track.keys, error, parameter.travel))

    return _changed(reel, chosen, thinned)


def track_of(
    parameter: str, first: int, amounts: NDArray[np.float64], *, digits: int, error: float, name: str
) -> Track:
    """Return a track over frames from `first` on, of an amount each, (n,), to so many digits, on even travel.

    It has the fewest keys that keep within `error`.
    """
    rounded = np.round(amounts, digits) + 0.0
    keys = tuple(zip(range(first, first + len(rounded)), rounded.tolist(), strict=True))
    kept = thinned_keys(keys, error, Travel.LINEAR)
    return Track(parameter=parameter, frame=first, frames=len(rounded), keys=kept, name=name)


def thinned_keys(keys: Sequence[Key], error: float, travel: Travel) -> tuple[Key, ...]:
    """Return the fewest of `keys`, first and last among them, between which all stay within `error`.

    Imai, Iri: Computational-geometric methods for polygonal approximations of a curve (1986): the shortest
    way through all chords that keep within it. The chords from a key lie within the cone of those passed.
    """
    at = np.array([frame for frame, _ in keys], float)
    position = np.array([travel.position(amount) for _, amount in keys])
    within = (log1p(error) if travel is Travel.LOG else error) + _LAST_DIGITS * float(np.abs(position).max())
    steps, before = np.full(len(keys), len(keys)), np.zeros(len(keys), int)
    steps[0] = 0
    for start in range(len(keys) - 1):
        across, up = at[start + 1 :] - at[start], position[start + 1 :] - position[start]
        lowest = np.maximum.accumulate((up - within) / across)
        highest = np.minimum.accumulate((up + within) / across)
        # That it lies in its own cone too is no more than is asked.
        reached = (lowest <= up / across) & (up / across <= highest) & (steps[start + 1 :] > steps[start] + 1)
        steps[start + 1 :][reached] = steps[start] + 1
        before[start + 1 :][reached] = start
    return tuple(keys[index] for index in reversed(list(_back(before.tolist()))))


_LAST_DIGITS: Final = 1e-12


def _back(before: Sequence[int]) -> Iterator[int]:
    index = len(before) - 1
    while index:
        yield index
        index = before[index]
    yield 0


def flicker_parameter(chain: ChainRef) -> str:
    """Return what takes out a flicker: the stops of an exposure that all of the scan goes through first.

    Only there is a gain of the scan's light undone exactly. Where there is none, it is of one to be put in.
    """
    first = _first_of_scan(chain)
    if first is not None and first.kind == EXPOSURE:
        return f"{first.name}.stops"
    taken = {ref.name for ref in chain.nodes}
    name = next(name for n in count(1) if (name := FLICKER if n == 1 else f"{FLICKER}_{n}") not in taken)
    return f"{name}.stops"


def _first_of_scan(chain: ChainRef) -> NodeRef | None:
    """Return the node that alone takes the scan, if there is one."""
    readers = [ref for ref in chain.nodes if SCAN in ref.inputs]
    return readers[0] if len(readers) == 1 and chain.output != SCAN else None


def _with_exposure(chain: ChainRef, catalogue: Catalogue) -> ChainRef:
    name = flicker_parameter(chain).partition(".")[0]
    if any(ref.name == name for ref in chain.nodes):
        return chain
    made = with_node(chain, catalogue, EXPOSURE, SCAN)
    *others, new = with_name(made, catalogue, made.nodes[-1].name, name).nodes
    output = name if chain.output == SCAN else chain.output
    return msgspec.structs.replace(made, nodes=(new, *others), output=output)


def _beside(old: Track, new: Track, controls: Controls) -> Iterator[Track]:
    """Yield what is left of `old` where `new` is laid over it."""
    if old.parameter != new.parameter or old.stop <= new.frame or new.stop <= old.frame:
        yield old
        return
    for start, stop in ((old.frame, new.frame), (new.stop, old.stop)):
        if start < stop:
            yield _part(old, start, stop, controls.parameters[old.parameter].travel)


def _part(track: Track, start: int, stop: int, travel: Travel) -> Track:
    """Return the frames `start` to `stop` of a track, with keys of its own at their ends."""
    ends = {frame: amount_at(track, frame, travel) for frame in (start, stop - 1)}
    inside = {frame: amount for frame, amount in track.keys if start <= frame < stop}
    keys = tuple(sorted((ends | inside).items()))
    return msgspec.structs.replace(track, frame=start, frames=stop - start, keys=keys)


def _changed(reel: Reel, chosen: Collection[Track], change: Callable[[Track], Track | None]) -> Reel:
    wanted = {(track.parameter, track.frame) for track in chosen}
    changed = (change(t) if (t.parameter, t.frame) in wanted else t for t in reel.tracks)
    return _with_tracks(reel, (track for track in changed if track is not None))


def _with_tracks(reel: Reel, tracks: Iterable[Track]) -> Reel:
    return msgspec.structs.replace(reel, tracks=tuple(sorted(tracks, key=lambda track: track.frame)))
