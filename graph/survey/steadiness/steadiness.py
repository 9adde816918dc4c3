"""Unsteady shots: weave and hop of the film in a gate, told apart from what the camera did, and held still.

What is slower than a second is the camera's and stays, so that a pan keeps its move; and a shot that sways
from frame to frame, as a camera in the hand does, is left alone. Where the picture never leaves the room that
a gate gives, or one so worn that it hops as far, the camera stood, and all that it does is the gate's. That
what is faster than an intended move is unsteadiness: Ratakonda, "Real-time digital video stabilization for
multi-media applications" (1998); by a smoother of the path: Litvin, Konrad, Karl, "Probabilistic video
stabilization" (2003). How much a shot trembles is asked of second differences, in which neither a camera that
sets off or stops nor a jolt at a splice counts: the spread of noise by differences is von Neumann's (1941).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.cues.settings import CueList
from lamphouse.graph.edits.tracks import track_of
from lamphouse.graph.media.codes.framing import Framing, framing_of
from lamphouse.graph.reel.records import Track
from lamphouse.graph.survey.flicker import whole_shots
from lamphouse.graph.survey.look import Look, Shot
from lamphouse.graph.survey.proposal import Proposal
from lamphouse.graph.survey.steadiness.path import path_of
from lamphouse.graph.survey.trend import (
    SHORTEST,
    Polynomial,
    Smoother,
    smoothest,
    spread_of,
    straightest,
    strays,
    wanders,
)
from lamphouse.nodes.framing import ACROSS, DOWN, FRAMING

TREMBLES: Final = (
    0.0018  # picture heights, from frame to frame: what does less sways or sets off (our choice)
)
LEAST: Final = 0.003  # picture heights of standard deviation: less is what an ordinary gate does (our choice)
ROOM: Final = 0.012  # picture heights that film can move in a gate (our choice)
WORN: Final = (
    4.0  # deviations of its hops: in a gate that lets it hop film wanders as far as they reach (our choice)
)
HOP: Final = 4.0  # deviations: frames that are farther off are not followed (our choice)
AGREED: Final = 0.8  # of what bands do, from which on the whole picture moved (our choice)
MOVING: Final = 0.7  # how sure it is at most where the camera moved: it may have trembled itself
EXACT: Final = 0.0001  # picture heights that a key may be left out for
NOISE_OF_SECONDS: Final = 6**0.5  # standard deviation of second differences of noise of 1
DIGITS: Final = 5  # of picture heights in a key
NAME: Final = "steadiness"
PARAMETERS: Final = (f"{FRAMING}.position_x", f"{FRAMING}.position_y")

Path = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Unsteadiness:
    """By how much each frame of a shot stands off its place: `off`, (n, 2) right and down in picture heights.

    `agreement`, up to 1, is the share of what bands of the picture do that they all do.
    """

    first: int
    off: Path
    agreement: float
    is_at_rest: bool

    @property
    def size(self) -> float:
        """Its standard deviation along the way along which it is larger."""
        return max(self.sizes)

    @property
    def sizes(self) -> tuple[float, float]:
        """Its standard deviations, across and down, without frames that jolt, as those at a splice do."""
        across, down = (float(way[_rests(way)].std()) for way in self.off.T)
        return across, down

    @property
    def tremble(self) -> float:
        """The standard deviation of what each frame does by itself, along the way where it is larger."""
        return max(spread_of(way) for way in np.diff(self.off, 2, axis=0).T) / NOISE_OF_SECONDS

    @property
    def largest(self) -> tuple[float, float]:
        """The farthest that it stands off, across and down."""
        across, down = np.abs(self.off).max(axis=0)
        return float(across), float(down)

    @property
    def stands_out(self) -> bool:
        """Whether it is one of the whole picture, large enough to be seen, and not the camera's."""
        is_seen = self.size >= LEAST and self.tremble >= TREMBLES and self.agreement >= AGREED
        return is_seen and not (wanders(self.off) and not self.is_at_rest)


def unsteadiness(look: Look) -> Iterator[Unsteadiness]:
    """Yield how unsteady each shot is that is long enough for it, however little; dissolves are left out."""
    aspect = look.opened.reel.scan.aspect
    for shot in whole_shots(look):
        if shot.stop - shot.first >= SHORTEST:
            yield _of(look, shot, aspect)


def proposals(look: Look) -> Iterator[Proposal]:
    """Yield tracks of the framing's position for each shot that is unsteady and has none, on or off."""
    own = [track for track in look.opened.reel.tracks if track.parameter in PARAMETERS]
    for found in look.unsteadiness:
        stop = found.first + len(found.off)
        if found.stands_out and not any(t.frame < stop and found.first < t.stop for t in own):
            yield _proposal(look, found)


def _of(look: Look, shot: Shot, aspect: float) -> Unsteadiness:
    path, steps = path_of(look.statistics.rows[shot.first : shot.stop], aspect)
    bands = np.concatenate([np.zeros((1, *steps.shape[1:])), np.cumsum(steps, axis=0)])
    courses = [_course(places) for places in path.T]
    slow, reach = [course.slow for course in courses], max(course.reach for course in courses)
    hops, off = _off(path, slow), _off(path, [course.even for course in courses])
    is_worn = reach <= WORN * hops.std(axis=0).max() and not wanders(off)
    is_at_rest = bool(reach <= ROOM or is_worn)
    # By their hops, since errors of the steps of bands add up.
    agreement = _agreement(_off(bands, slow), hops)
    still = _off(path, [course.still for course in courses])
    return Unsteadiness(shot.first, still if is_at_rest else hops, agreement, is_at_rest)


def _off(path: Path, meant: Sequence[Smoother]) -> Path:
    """Return by how much paths, (n, 2) or (n, 2, several), are off what is meant in either way."""
    return np.stack([path[:, way] - meant[way](path[:, way]) for way in (0, 1)], axis=1)


class _Course(NamedTuple):
    """How the camera may have meant the picture to stand: still, or going on evenly, or however it moved.

    `reach` is how far the picture went, hops left out, in picture heights.
    """

    still: Smoother
    even: Smoother
    slow: Smoother
    reach: float


def _course(places: Path) -> _Course:
    counts = (~strays(places, LEAST / 2)).astype(float)
    for _ in range(2):  # hops are known once the course is
        slow = smoothest(places, counts)
        counts = _rests(places - slow(places)).astype(float)
    even = straightest(places, counts)
    left = (slow(places) - even(places))[counts > 0]
    return _Course(Polynomial(counts, 0), even, slow, float(max(np.ptp(left), np.ptp(even(places)))))


def _rests(off: Path) -> NDArray[np.bool_]:
    """Return which frames, of what each is off along one way, do not jolt."""
    return np.asarray(np.abs(off) <= HOP * max(spread_of(off), LEAST / HOP))


def _agreement(bands: Path, off: Path) -> float:
    """Return how much of what its bands do, (n, 2, bands), the picture does as a whole.

    Of each way the band that strays most does not count: somebody may walk through it.
    """
    strays = np.sort(((bands - off[..., None]) ** 2).mean(axis=0), axis=1)[:, :-1].mean(axis=1)
    together = (off**2).mean(axis=0)
    return 1 - float(strays.sum() / together.sum()) if together.any() else 0.0


def _proposal(look: Look, found: Unsteadiness) -> Proposal:
    scan, (across, down) = look.opened.reel.scan, found.sizes
    across, down = across / scan.aspect * scan.width, down * scan.height
    room = _size_to_hide(look, found.largest)
    camera = "the camera stood" if found.is_at_rest else "what the camera does stays"
    worst = found.first + int(np.hypot(*found.off.T).argmax())
    why = (
        f"The picture moves in its gate by {across:.1f} pixels of the scan across and {down:.1f} down "
        f"(standard deviations, jolts left out), most at frame {worst}; {camera}, and a size of "
        f"{room:.3f} hides the edges that move."
    )
    return Proposal(
        kind="steadiness",
        what="unsteady picture",
        frame=found.first,
        frames=len(found.off),
        sure=float(np.clip(found.agreement, 0, 1 if found.is_at_rest else MOVING)),
        why=why,
        amount=round(100 * found.size, 4),
        unit="% of the picture's height",
        tracks=_tracks(look, found),
    )


def _size_to_hide(look: Look, largest: tuple[float, float]) -> float:
    """Return the size of the framing at which no edge of the picture is seen to move."""
    across, down = largest
    return 1 / (1 - 2 * min(0.4, max(across / look.opened.reel.scan.aspect, down)))


def _tracks(look: Look, found: Unsteadiness) -> tuple[Track, ...]:
    reel, controls = look.opened.reel, look.opened.controls()
    framing = framing_of(CueList(reel.cues, controls, ()).at(found.first))
    back = _as_framed(-found.off, framing, 1 / reel.scan.aspect)
    return tuple(
        track_of(parameter, found.first, amounts, digits=DIGITS, error=EXACT, name=NAME)
        for parameter, amounts in zip(PARAMETERS, back.T, strict=True)
        if amounts.any()
    )


def _as_framed(move: Path, framing: Framing, upright: float) -> Path:
    """Return a movement of the scan in what position counts in: of the picture mirrored and turned.

    `upright` is the height of the scan over its width, which a quarter turn makes the height.
    """
    right, down = move.T
    right = -right if framing.mirror == ACROSS else right
    down = -down if framing.mirror == DOWN else down
    for _ in range(framing.quarters):
        right, down = -down, right
    return np.stack([right, down], axis=1) * (upright if framing.quarters % 2 else 1.0)
