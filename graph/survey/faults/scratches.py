"""Scratches in the direction of travel: narrow lines that stay near one column from frame to frame, whatever
is shown.

The lines of single frames are followed over time (Kokaram, "Motion Picture Restoration", 1998, chapter 4,
finds them in one frame; that they persist is what Joyeux, Buisson, Besserer and Boukir, "Detection and
removal of line scratches in motion picture films", 1999, add). What stands in the picture reaches over a part
of its height alone, always the same, or goes with the picture: a scratch goes through all of it in the course
of its frames. One that is lost on dark or busy pictures, and seen again along its column, is one scratch. A
line that stays within one shot and its dissolves may be upright before the camera, unless the picture moves
sideways under it: it counts only where it goes through the whole height, and is never sure.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from lamphouse.graph.media.statistics.gauges.lines import BANDS
from lamphouse.graph.media.statistics.row import Rows
from lamphouse.graph.survey.alone import alone
from lamphouse.graph.survey.faults.moved import shifts
from lamphouse.graph.survey.look import Look
from lamphouse.graph.survey.proposal import Proposal

STEP: Final = 0.004  # of the width, that a scratch may move from a frame to the next (all our choice)
SLIP: Final = 0.001  # and more for each frame in which it was not seen
GAP: Final = 24  # frames for which it may be away
FAR: Final = 0.012  # of the width, that it may be off after those
LEAST_FRAMES: Final = 10
FAINT: Final = 0.015  # of the range, below which it is grain
OFTEN: Final = 0.4  # share of its frames in which it is seen
HIGH: Final = 10  # bands that it goes through in the course of its frames
NOW_AND_THEN: Final = 0.15  # share of its frames for that
AWAY: Final = 120  # frames for which it may be lost on what is shown
ASTRAY: Final = 0.03  # of the width, that it may then be off, if it wanders as far
BOTH: Final = 0.1  # of the frames of one, in which another may be seen as well: else they are two
SIDEWAYS: Final = 0.02  # of the width, by which the picture moves under it
OWN: Final = 5  # frames that show a shot alone, in which it is seen there
WIDE: Final = 0.012  # share of the width that is shown about it


@dataclass(slots=True)
class Line:
    """A line that is followed: where it is seen, its columns, how far it stands out, through which bands."""

    is_bright: bool
    frames: list[int] = field(default_factory=list)
    columns: list[float] = field(default_factory=list)
    contrasts: list[float] = field(default_factory=list)
    bands: list[int] = field(default_factory=list)

    def is_near(self, frame: int, column: float) -> float | None:
        """Return how far off its last place a line is, or None where it is another."""
        away = frame - self.frames[-1]
        apart = abs(column - self.columns[-1])
        return apart if away > 0 and apart <= min(FAR, STEP + SLIP * (away - 1)) else None

    def add(self, frame: int, column: float, contrast: float, bands: int) -> None:
        """Take where it is seen next."""
        self.frames.append(frame)
        self.columns.append(column)
        self.contrasts.append(contrast)
        self.bands.append(bands)

    def goes_on_in(self, later: Line) -> bool:
        """Return whether a line that begins later, or as early, is this one again."""
        if self.is_bright != later.is_bright or later.frames[0] - self.frames[-1] > AWAY:
            return False
        off = abs(
            float(np.median(later.columns)) - float(np.interp(later.frames[0], self.frames, self.columns))
        )
        wander = sum(max(line.columns) - min(line.columns) for line in (self, later))
        both = len(set(self.frames) & set(later.frames))
        shorter = min(len(self.frames), len(later.frames))
        return off <= min(ASTRAY, STEP + wander) and both <= BOTH * shorter

    def joined(self, later: Line) -> Line:
        """Return both as one, with one place in each frame."""
        places = {
            place[0]: place
            for line in (later, self)
            for place in zip(line.frames, line.columns, line.contrasts, line.bands, strict=True)
        }
        found = Line(self.is_bright)
        for frame in sorted(places):
            found.add(*places[frame])
        return found

    @property
    def length(self) -> int:
        """From the first frame to the last, with those in which it was not seen."""
        return self.frames[-1] - self.frames[0] + 1

    @property
    def high(self) -> int:
        """How many bands of the picture it goes through now and then."""
        seen = np.array(self.bands)[:, None] >> np.arange(BANDS) & 1
        return int(np.count_nonzero(seen.mean(axis=0) >= NOW_AND_THEN))

    @property
    def is_scratch(self) -> bool:
        """Whether it persists as a scratch does."""
        seen = len(self.frames)
        is_seen = seen >= LEAST_FRAMES and seen >= OFTEN * self.length
        return is_seen and abs(float(np.mean(self.contrasts))) >= FAINT and self.high >= HIGH


def proposals(look: Look) -> Iterator[Proposal]:
    """Propose a mark on each scratch, from its first frame to its last, through as many shots as it goes."""
    own = [alone(look, shot) for shot in look.shots]
    rows = look.statistics.rows
    for line in scratches(rows):
        shots = _shots(line, own)
        is_told = shots > 1 or _moves_sideways(rows, line)
        if is_told or line.high == BANDS:
            yield _proposal(line, shots, is_told)


def scratches(rows: Rows) -> list[Line]:
    """Return the scratches of a scan, in the order in which they begin."""
    found: list[Line] = []
    for line in (each for each in _followed(rows) if each.is_scratch):
        same = next((at for at, earlier in enumerate(found) if earlier.goes_on_in(line)), None)
        if same is None:
            found.append(line)
        else:
            found[same] = found[same].joined(line)
    return found


def _shots(line: Line, own: list[slice]) -> int:
    """Return in how many shots a line is seen, by the frames that show each alone."""
    ends = np.array([(seen.start, seen.stop) for seen in own])
    return int(np.count_nonzero(np.diff(np.searchsorted(line.frames, ends)) >= OWN))


def _moves_sideways(rows: Rows, line: Line) -> bool:
    """Return whether the picture moves across a line in most of the frames in which it is seen."""
    way = np.cumsum(shifts(rows[line.frames[0] : line.frames[-1] + 1])[:, 0])
    seen = way[np.array(line.frames) - line.frames[0]]
    return bool(np.ptp(np.quantile(seen, (1 / 4, 3 / 4))) >= SIDEWAYS)


def _followed(rows: Rows) -> Iterable[Line]:
    """Return every line that is followed, each frame's lines given to those that are nearest."""
    lines, done = rows["lines"], []
    going: list[Line] = []
    for frame in np.flatnonzero(lines["column"].any(axis=1)):
        done += [line for line in going if frame - line.frames[-1] > GAP]
        going = [line for line in going if frame - line.frames[-1] <= GAP]
        for column, contrast, bands in lines[frame][lines[frame]["column"] > 0].tolist():
            _give(going, int(frame), column, contrast, bands)
    return sorted(done + going, key=lambda line: line.frames[0])


def _give(going: list[Line], frame: int, column: float, contrast: float, bands: int) -> None:
    is_bright = contrast > 0
    near = [
        (apart, at)
        for at, line in enumerate(going)
        if line.is_bright == is_bright and (apart := line.is_near(frame, column)) is not None
    ]
    if not near:
        going.append(Line(is_bright))
    going[min(near)[1] if near else -1].add(frame, column, contrast, bands)


def _proposal(line: Line, shots: int, is_told: bool) -> Proposal:
    column = float(np.median(line.columns))
    contrast = abs(float(np.mean(line.contrasts)))
    left, right = min(line.columns) - WIDE / 2, max(line.columns) + WIDE / 2
    through = f", through {shots} shots" if shots > 1 else ""
    tone = "bright" if line.is_bright else "dark"
    told = (
        ", wherever the picture moves"
        if is_told
        else " of a picture that does not move sideways, so see that it is nothing upright before the camera"
    )
    return Proposal(
        kind="faults",
        what="scratch",
        frame=line.frames[0],
        frames=line.length,
        sure=(0.95 if shots > 1 or line.high == BANDS else 0.8) if is_told else 0.6,
        why=(
            f"A {tone} line {100 * column:.1f} % from the left stands out by {100 * contrast:.0f} % "
            f"of the range in {len(line.frames)} of {line.length} frames{through}{told}."
        ),
        place=(max(0.0, left), 0.0, min(1.0, right) - max(0.0, left), 1.0),
        amount=round(100 * contrast, 1),
        unit="%",
    )
