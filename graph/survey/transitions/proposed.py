"""Transitions as proposals: the light changes inside a shot, and the settings pass from one to another.

What flickers has no level to go to; what fades or dissolves lies at the ends of a shot and is left out; what
moves in the picture, and what is lit by a lamp in it, leaves most cells as they are.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.grade.grade import Shown
from lamphouse.graph.survey.look import Change, Look, Shot
from lamphouse.graph.survey.proposal import Proposal
from lamphouse.graph.survey.transitions.light import BRIGHT, DARK, RIDGE, Course, course
from lamphouse.graph.survey.transitions.ramps import ERROR, SHORTEST, Fit, Ramp, fitted
from lamphouse.graph.survey.transitions.settings import Countered, countered
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.values import Value

# All of what follows is our choice.
BESIDE: Final = 2  # frames beside a dissolve or fade that are left out as well: its ends are not known better
OWN: Final = 0.35  # of a change of light: a cell that departs from it by more has gone its own way
AGREE: Final = 0.4  # of the cells have to go with the light for it to be that of the picture
AGREE_MOVING: Final = 0.25  # where the camera moves, and what comes into a cell is a way of its own as well
MOST_AGREE: Final = 0.6  # and to be sure of it
KNOWN: Final = 0.4  # of the cells that can tell of light, which black and white cannot
LEVEL: Final = 4  # frames of level light before and after
DAYLIGHT: Final = 0.6  # stops between red and blue beyond which sun and cloud do not go
CAMERA: Final = 4.0  # cells, an eighth of the picture, from which on the camera moves
PLAIN: Final = 3.0  # times the noise of a frame that a change has
BEFORE: Final = 12  # frames between the two pictures of the light before
SAME: Final = 0.5  # correlation of the picture before with that after, where the camera stands
STRONGEST: Final = 2.5  # stops: more is no sun and cloud but a fade
SURE: Final = 0.95  # where there is no doubt
UNSURE: Final = 0.5  # what is less sure is not proposed


def proposals(look: Look) -> Iterator[Proposal]:
    """Yield a transition for each change of light inside a shot, where the reel has none of its own."""
    with closing(Shown(look.opened.reel.scan.colour)) as shown:
        for shot in look.shots:
            span = _alone(look.gradual, shot, look.picture)
            if len(span) > SHORTEST:
                yield from _of_shot(look, shot, span, _video(look, span, shown))


def _alone(gradual: tuple[Change, ...], shot: Shot, picture: range) -> range:
    """Return the frames of a shot in which nothing else is seen, nothing fades, and there is no leader."""
    first, stop = max(shot.first, picture.start), min(shot.stop, picture.stop)
    for change in gradual:
        if change.frame == first:
            first += BESIDE
        if shot.first < change.frame <= shot.stop:
            stop = min(stop, change.frame - change.frames - BESIDE)
    return range(first, stop)


def _video(look: Look, span: range, shown: Shown) -> NDArray[np.float32]:
    """Return the smallest pictures of frames as video signal, (frames, 3, rows, columns)."""
    small = look.statistics.rows["small"][span.start : span.stop]
    frames, _, rows, columns = small.shape
    tall = np.moveaxis(small, 1, 0).reshape(3, -1, columns) / np.float32(255)
    return np.moveaxis(shown.of(tall).reshape(3, frames, rows, columns), 0, 1)


def _of_shot(look: Look, shot: Shot, span: range, video: NDArray[np.float32]) -> Iterator[Proposal]:
    seen = course(video)
    fit = fitted(seen.stops)
    held: dict[str, Value] = {}  # by the transitions that are proposed before in this shot
    for ramp in fit.ramps:
        doubts = _doubts(seen, fit, ramp)
        sure = SURE - sum(doubts.values())
        if sure < UNSURE or not _is_light(seen, video, ramp) or _is_own(look, span, ramp):
            continue
        settings = {**look.grade.cues.at(span.start + ramp.first), **held}
        pictures = [video[max(0, ramp.first - back)] for back in (BEFORE, 0)]
        try:
            found = countered(look.opened, settings, pictures, ramp)
        except BadInput:  # the chain has nothing to counter it with
            return
        held |= found.settings
        yield Proposal(
            kind="transitions",
            what="transition",
            frame=span.start + ramp.stop,
            frames=ramp.stop - ramp.first,
            ease=found.ease,
            then=shot.stop,
            sure=round(sure, 2),
            why=_why(ramp, found, fit.left, list(doubts)),
            begin=dict(found.begin),
            settings=dict(found.settings),
            amount=round(ramp.stops[1], 3),
            unit="stops",
        )


def _is_light(seen: Course, video: NDArray[np.float32], ramp: Ramp) -> bool:
    """Say whether it is the light of one picture that changes: not what it shows, nor a part of it."""
    is_known = seen.known[ramp.first : ramp.stop + 1].min() >= KNOWN
    moves = _moves(seen, ramp)
    is_same = moves or _alike(video[ramp.first], video[ramp.stop]) >= SAME
    goes = _agreeing(seen, ramp) >= (AGREE_MOVING if moves else AGREE)
    return bool(is_known and is_same and ramp.size <= STRONGEST and goes)


def _alike(before: NDArray[np.float32], after: NDArray[np.float32]) -> float:
    """Return the correlation of what two pictures show, whatever their light."""
    a, b = (np.log(np.clip(picture.mean(axis=0), DARK, BRIGHT)) for picture in (before, after))
    a, b = a - a.mean(), b - b.mean()
    return float(np.sum(a * b) / max(np.sqrt(np.sum(a * a) * np.sum(b * b)), RIDGE))


def _moves(seen: Course, ramp: Ramp) -> bool:
    """Say whether the camera moves while the light changes."""
    return bool(np.ptp(seen.way[ramp.first : ramp.stop + 1], axis=0).max() > CAMERA)


def _agreeing(seen: Course, ramp: Ramp) -> float:
    """Return the share of the cells whose light went as that of the picture, 0 to 1."""
    own = seen.strays[ramp.stop] - seen.strays[ramp.first]
    return float(np.mean(np.abs(own) < OWN * ramp.size))


def _is_own(look: Look, span: range, ramp: Ramp) -> bool:
    """Say whether the reel has a cue, or a transition to one, where the light changes."""
    first, stop = span.start + ramp.first, span.start + ramp.stop
    return any(
        first < cue.frame <= stop or (first < cue.frame and cue.frame - cue.length < stop)
        for cue in look.opened.reel.cues
    )


def _doubts(seen: Course, fit: Fit, ramp: Ramp) -> dict[str, float]:
    """Return what speaks against a change of light that a grade should undo, and how much."""
    level = min(ramp.first, len(seen.stops) - 1 - ramp.stop)
    colour = abs(ramp.stops[0] - ramp.stops[2])
    doubts = (
        ("the camera moves meanwhile", 0.2, _moves(seen, ramp)),
        ("not all of the picture goes with it", 0.2, _agreeing(seen, ramp) < MOST_AGREE),
        ("no level light stands on both sides", 0.2, level < LEVEL),
        ("its colour changes as that of daylight does not", 0.3, colour > DAYLIGHT),
        ("it hardly stands out from flicker", 0.3, ramp.size < PLAIN * fit.noise),
        ("the light goes other ways as well", 0.2, fit.left > ERROR + fit.noise),
    )
    return {doubt: weight for doubt, weight, holds in doubts if holds}


def _why(ramp: Ramp, found: Countered, left: float, doubts: list[str]) -> str:
    red, green, blue = ramp.stops
    return (
        f"The light {'rises' if green > 0 else 'falls'} by {ramp.size:.2f} stops over "
        f"{ramp.stop - ramp.first} frames (red {red:+.2f}, green {green:+.2f}, blue {blue:+.2f}), known "
        f"within {left:.2f}; the meter of the transition shows {found.meter.step:.2f} a frame"
        f"{''.join(f'; {doubt}' for doubt in doubts)}."
    )
