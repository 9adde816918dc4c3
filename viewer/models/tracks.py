"""Tracks of the reel at the desk: the curves that the strip shows, and what a hand does with them."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from math import expm1
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.edits import tracks as edits
from lamphouse.graph.edits.tracks import tracks_over
from lamphouse.graph.reel.records import Reel, Track
from lamphouse.nodes.values import Travel
from lamphouse.viewer.models.desk import Desk

Point = tuple[float, float]  # pixels of the window
SHARE: Final = 0.05  # of how far a track goes, that its keys may be thinned by until a person sets another


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """A track to be drawn: the frames of its corners, its own ends among them, and its heights there.

    A height is 1 or -1 at the farthest that any track of the parameter goes, along the way in which that
    travels. `size` is the farthest that this one goes, as `Travel.position` counts; `lane` numbers the
    parameters that have tracks.
    """

    track: Track
    lane: int
    frames: NDArray[np.int64]
    heights: NDArray[np.float64]
    size: float


@dataclass(slots=True)
class TracksView:
    """What panels keep of tracks: the share by which keys are thinned, and the curves made last."""

    share: float = SHARE
    found: tuple[Curve, ...] = ()
    made_of: tuple[object, ...] = ((), None)
    corners: tuple[tuple[Curve, list[Point]], ...] = ()  # of those that the strip spans
    placed: tuple[float, ...] = ()  # where the strip lay then, and what it spanned

    def curves(self, desk: Desk) -> tuple[Curve, ...]:
        """Return the curves of the reel as it is now, in order of frame."""
        made_of = desk.reel.tracks, desk.reel.chain
        if any(one is not other for one, other in zip(made_of, self.made_of, strict=True)):
            self.made_of, self.found, self.placed = made_of, tuple(_curves(desk)), ()
        return self.found


def switch(desk: Desk, chosen: Collection[Track], *, is_on: bool) -> None:
    """Let tracks move their parameters, or not; their keys stay."""
    desk.edit(lambda reel: edits.switch(reel, chosen, is_on))


def switch_here(desk: Desk) -> None:
    """Switch the tracks that lie over the playhead off, or where all of them are off, on."""
    here = tracks_over(desk.reel, desk.frame)
    if not here:
        desk.message = 'No track lies over this frame; "tracks" above the controls lists those of the reel.'
        return
    switch(desk, here, is_on=not any(track.is_on for track in here))


def thin(desk: Desk, curves: Collection[Curve], share: float) -> None:
    """Leave the fewest keys that keep within a share of how far each track goes; say how many."""
    before, chosen = desk.reel, tuple(curve.track for curve in curves)

    def thinned(reel: Reel) -> Reel:
        for curve in curves:
            reel = edits.thin(reel, (curve.track,), error_of(desk, curve, share), desk.controls)
        return reel

    desk.edit(thinned)
    if not desk.message:
        desk.message = f"Of {_keys(before, chosen)} keys {_keys(desk.reel, chosen)} are left."


def error_of(desk: Desk, curve: Curve, share: float) -> float:
    """Return a share of how far a track goes, in its parameter's unit, or by how much it multiplies."""
    off = share * curve.size
    return expm1(off) if _travel(desk, curve.track) is Travel.LOG else off


def error_text(desk: Desk, curve: Curve, share: float) -> str:
    """Return that in words: `0.01 stops`, or `3.00%` where keys multiply."""
    error = error_of(desk, curve, share)
    if _travel(desk, curve.track) is Travel.LOG:
        return f"{error:.2%}"
    parameter = desk.controls.parameters.get(curve.track.parameter)
    return f"{error:.2g} {parameter.unit if parameter else ''}".rstrip()


def remove(desk: Desk, track: Track) -> None:
    """Take a track out."""
    desk.edit(lambda reel: edits.remove(reel, (track,)))


def _curves(desk: Desk) -> Iterator[Curve]:
    tracks = desk.reel.tracks
    lanes = {key: lane for lane, key in enumerate(sorted({track.parameter for track in tracks}))}
    corners = [_corners(track, _travel(desk, track)) for track in tracks]
    sizes = [float(np.abs(heights).max()) for _, heights in corners]
    farthest = dict.fromkeys(lanes, 0.0)
    for track, size in zip(tracks, sizes, strict=True):
        farthest[track.parameter] = max(farthest[track.parameter], size)
    for track, (frames, heights), size in zip(tracks, corners, sizes, strict=True):
        full = farthest[track.parameter] or 1.0
        yield Curve(track, lanes[track.parameter], frames, heights / full, size)


def _corners(track: Track, travel: Travel) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    at = np.array([frame for frame, _ in track.keys])
    heights = np.array([travel.position(amount) for _, amount in track.keys])
    frames = np.unique(np.clip([track.frame, *at, track.stop - 1], track.frame, track.stop - 1))
    return frames, np.interp(frames, at, heights)


def _travel(desk: Desk, track: Track) -> Travel:
    """Return how a parameter travels; one of a node that is missing here is taken for even."""
    parameter = desk.controls.parameters.get(track.parameter)
    return Travel.LINEAR if parameter is None else parameter.travel


def _keys(reel: Reel, chosen: Collection[Track]) -> int:
    wanted = {(track.parameter, track.frame) for track in chosen}
    return sum(len(track.keys) for track in reel.tracks if (track.parameter, track.frame) in wanted)
