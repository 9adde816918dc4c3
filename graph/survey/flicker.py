"""Flicker: light that is other from frame to frame, shot by shot, and the exposure that takes it out.

How much lighter frames are than others before them gives the way of the light. What is faster than the course
of that is flicker; what is slower, or steps, is a lamp or a cloud and stays. Light is weighed where the
exposure stands, in the scan's own encoding, so that a gain of it is undone as what it was. That flicker is
what is left beside a slow course of levels: Decenciere, "Restauration automatique de films anciens" (1997);
Pitie, Dahyot, Kelly, Kokaram, "A new robust technique for stabilizing brightness fluctuations" (2004);
Delon, "Movie and video scale-time equalization" (2006).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.edits.tracks import FLICKER, flicker_parameter, track_of
from lamphouse.graph.survey.gains import gains, light, usable
from lamphouse.graph.survey.look import Look, Shot
from lamphouse.graph.survey.proposal import Proposal
from lamphouse.graph.survey.trend import SHORTEST, beats, course, strays, wanders

LEAST: Final = 0.015  # stops of standard deviation: less is lost in grain (our choice)
LEAST_STEP: Final = 0.15  # stops by which a lamp that is lit changes the whole picture (our choice)
EXACT: Final = 0.002  # stops that a key may be left out for
DIGITS: Final = 4  # of stops in a key
SQUARE: Final = 8  # cells of a side of a part of the picture that is asked by itself
AGREED: Final = 0.8  # of what parts of the picture do, from which on it is one of the whole (our choice)

Stops = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Flicker:
    """The flicker of a shot: by how many stops each frame is too light, from `first` on.

    `size` is their standard deviation; `agreement`, up to 1, the share of what parts of the picture do from
    frame to frame that they all do.
    """

    first: int
    stops: Stops
    agreement: float

    @property
    def size(self) -> float:
        """Its standard deviation in stops."""
        return float(self.stops.std())

    @property
    def stands_out(self) -> bool:
        """Whether it is one of the whole picture's light, and large enough to be seen."""
        return self.size >= LEAST and self.agreement >= AGREED and not self.wanders

    @property
    def wanders(self) -> bool:
        """Whether it goes on from frame to frame, as a flame does, and is the scene's own light."""
        return wanders(self.stops) and not self.turn

    @property
    def turn(self) -> int:
        """The frames after which it comes back, as what a hand turns or a lamp on the mains does; or 0."""
        return beats(self.stops)

    @property
    def worst(self) -> int:
        """The frame at which it is largest."""
        return self.first + int(np.abs(self.stops).argmax())


def flickers(look: Look) -> Iterator[Flicker]:
    """Yield the flicker of each shot that is long enough to have any, however small; dissolves have none."""
    small, transfer = look.statistics.rows["small"], look.opened.reel.scan.colour.transfer
    for shot in whole_shots(look):
        of_shot = small[shot.first : shot.stop]
        if len(of_shot) >= SHORTEST:
            yield _of(shot, of_shot, transfer)


def proposals(look: Look) -> Iterator[Proposal]:
    """Yield a track of exposure for each shot whose light flickers and that has none, on or off."""
    parameter = flicker_parameter(look.opened.reel.chain)
    own = [track for track in look.opened.reel.tracks if track.parameter == parameter]
    for flicker in look.flickers:
        stop = flicker.first + len(flicker.stops)
        if flicker.stands_out and not any(t.frame < stop and flicker.first < t.stop for t in own):
            yield _proposal(flicker, parameter)


def _of(shot: Shot, small: NDArray[np.uint8], transfer: str) -> Flicker:
    """Return the flicker of a shot, held against several frames where there is any."""
    way = np.cumsum(gains(small, transfer))
    stops = way - course(way, LEAST_STEP)
    if stops.std() < LEAST:
        return Flicker(shot.first, stops, 0.0)
    way = light(small, transfer)
    stops = way - course(way, LEAST_STEP)
    return Flicker(shot.first, stops, _agreement(small, transfer, way, _clearest(stops)))


def whole_shots(look: Look) -> Iterator[Shot]:
    """Yield the frames of each shot that show it alone: without a dissolve or fade into the next."""
    passing = {change.frame: change.frames for change in look.changes}
    for shot in look.shots:
        stop = shot.stop - passing.get(shot.stop, 0)
        if shot.first < stop:
            yield Shot(shot.first, stop)


def _agreement(small: NDArray[np.uint8], transfer: str, way: Stops, by: int) -> float:
    """Return how much of the gains of its parts, over so many frames, a picture has in common.

    Those of a turning camera have little. The median part decides: some may be dark, or clipped.
    """
    flashes = strays(way, LEAST_STEP)
    counts = ~(flashes[by:] | flashes[:-by])
    whole = _steps(way, by)[counts]
    parts = (np.cumsum(gains(part, transfer)) for part in _parts(small) if usable(part) > 1 / 2)
    apart = [float(np.mean((_steps(of_part, by)[counts] - whole) ** 2)) for of_part in parts]
    together = float(np.mean(whole**2))
    return 1 - float(np.median(apart)) / together if apart and together else 0.0


def _clearest(stops: Stops) -> int:
    """Return over how many frames a beat stands out most from errors, which add up; 1 where nothing beats."""
    if not beats(stops):
        return 1
    return max(range(1, SHORTEST // 2), key=lambda by: float(np.mean(_steps(stops, by) ** 2)) / by)


def _steps(way: Stops, by: int) -> Stops:
    return np.asarray(way[by:] - way[:-by])


def _parts(small: NDArray[np.uint8]) -> Iterator[NDArray[np.uint8]]:
    _, _, rows, columns = small.shape
    for top in range(0, rows, SQUARE):
        for left in range(0, columns, SQUARE):
            yield small[:, :, top : top + SQUARE, left : left + SQUARE]


def _proposal(flicker: Flicker, parameter: str) -> Proposal:
    frames, size = len(flicker.stops), flicker.size
    beat = f", in a beat of {flicker.turn} frames" if flicker.turn else ""
    why = (
        f"The light of the whole picture flickers by {size:.3f} stops (standard deviation){beat}, most "
        f"at frame {flicker.worst}; its parts agree by {flicker.agreement:.2f}, and what its light does "
        "more slowly, or at a step or a flash, stays."
    )
    track = track_of(parameter, flicker.first, -flicker.stops, digits=DIGITS, error=EXACT, name=FLICKER)
    return Proposal(
        kind="flicker",
        what="flicker",
        frame=flicker.first,
        frames=frames,
        sure=float(np.clip(flicker.agreement, 0, 1)),
        why=why,
        amount=round(size, 4),
        unit="stops",
        tracks=(track,),
    )
