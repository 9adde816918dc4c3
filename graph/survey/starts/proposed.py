"""What the survey proposes for how each shot should start, in words and settings."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.cues.settings import ON
from lamphouse.graph.edits.cues import cue_holding
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.survey.alone import alone
from lamphouse.graph.survey.look import Look, Shot
from lamphouse.graph.survey.proposal import SURE, Proposal
from lamphouse.graph.survey.starts.base import measured_base
from lamphouse.graph.survey.starts.ends import aim_of, below_white, darkest, lift_of
from lamphouse.graph.survey.starts.estimate import estimated
from lamphouse.graph.survey.starts.film import Film, with_film
from lamphouse.graph.survey.starts.hand import Hand
from lamphouse.graph.survey.starts.setups import setups
from lamphouse.graph.survey.starts.steer import Chain
from lamphouse.graph.survey.starts.words import joined, unsaid, words
from lamphouse.nodes.errors import BadInput, clause

WHAT: Final = "start"
UNIT: Final = "CIEDE2000"
PICTURES: Final = 4  # that a start is made of
FEW: Final = 2  # of each shot of a set-up, so that one long shot does not decide alone
AS_SET: Final = 0.9  # how sure it is that a shot of the same set-up wants what a person set there

FILM: Final[tuple[Callable[[Look], Film | None], ...]] = (measured_base, lambda look: look.fading)

Pictures = list[NDArray[np.float32]]


@dataclass(frozen=True, slots=True)
class _Start:
    shot: Shot
    sure: float
    why: str
    amount: float
    settings: Mapping[str, Any]


def proposals(look: Look) -> Iterator[Proposal]:
    """Yield a start for every shot that no person has set; one that is left neutral says why.

    Shots of one set-up get the same start, and where a person has set one of them, that. Leaders get none.
    """
    films: list[Film] = []
    with ExitStack() as stack:
        for measured in FILM:
            film = measured(look)
            if film is not None and film.sure >= SURE:
                opened = with_film(look.opened, film)
                look = replace(look, opened=opened, grade=stack.enter_context(Grade(opened, threads=1)))
                films.append(film)
        yield from _proposals(look, films)


def _proposals(look: Look, films: Sequence[Film]) -> Iterator[Proposal]:
    sure = min((film.sure for film in films), default=0.0)
    of_film = {key: value for film in films for key, value in film.settings.items()}
    for start in sorted(_Starts(look).all(), key=lambda start: start.shot.first):
        yield Proposal(
            kind="balance",
            what=WHAT,
            frame=start.shot.first,
            frames=start.shot.stop - start.shot.first,
            then=start.shot.stop,
            sure=round(max(start.sure, sure if not start.settings else 0.0), 2),
            why=joined(*(film.words for film in films), start.why),
            settings={**start.settings, **of_film},
            amount=round(start.amount, 1),
            unit=UNIT,
        )


class _Starts:
    """The starts of all shots of a reel."""

    def __init__(self, look: Look) -> None:
        self._look, self._hand, self._chain = look, Hand(look.opened.reel), Chain(look.opened)
        self._first, self._stop = look.picture.start, look.picture.stop

    def all(self) -> Iterator[_Start]:
        """Yield one for each shot of the picture that no person has set."""
        taken = []
        for shots in setups(self._look):
            by_hand = {shot: own for shot in shots if (own := self._hand.at(shot.first)) is not None}
            free = [shot for shot in shots if shot not in by_hand and self._is_picture(shot)]
            if by_hand:
                yield from (self._as_set(shot, by_hand) for shot in free)
            else:
                taken += [(alike, self._pictures(alike)) for alike in self._held_alike(free)]
        seen = [pictures for _, pictures in taken if pictures]
        lift, aim = lift_of([darkest(each) for each in seen]), aim_of([below_white(each) for each in seen])
        for shots, pictures in taken:
            yield from self._estimated(shots, pictures, lift, aim)

    def _is_picture(self, shot: Shot) -> bool:
        return shot.first < self._stop and self._first < shot.stop

    def _stored(self, shot: Shot) -> Mapping[str, Any]:
        cue = cue_holding(self._look.opened.reel, shot.first)
        return cue.settings if cue else {}

    def _held_alike(self, shots: Sequence[Shot]) -> list[list[Shot]]:
        """Return shots by what is set there now: only what is seen under the same settings can be pooled."""
        by_held: dict[str, list[Shot]] = {}
        for shot in shots:
            by_held.setdefault(str(sorted(self._stored(shot).items())), []).append(shot)
        return list(by_held.values())

    def _pictures(self, shots: Sequence[Shot]) -> Pictures:
        most = PICTURES if len(shots) == 1 else FEW
        found: Pictures = []
        for shot in shots[:PICTURES]:
            seen = self._seen(shot)
            steady = self._look.grade.cues.steady_until(seen.start)
            stop = seen.stop if steady is None else min(seen.stop, steady)
            found += [picture for _, picture in self._look.video(seen.start, stop, most)]
        return found

    def _seen(self, shot: Shot) -> range:
        """Return the frames of the picture that show a shot alone, or all of its own where none does."""
        whole = range(max(shot.first, self._first), min(shot.stop, self._stop))
        seen = alone(self._look, shot)
        return range(max(seen.start, whole.start), min(seen.stop, whole.stop)) or whole

    def _as_set(self, shot: Shot, by_hand: Mapping[Shot, Mapping[str, Any]]) -> _Start:
        """Return what a person has set for the nearest shot of the same set-up."""
        nearest = min(by_hand, key=lambda other: abs(other.first - shot.first))
        own, neutral = by_hand[nearest], self._look.grade.controls.neutral
        gone = {key: neutral.get(key, ON) for key in self._stored(shot) if key not in own}
        why = f"The same set-up as at frame {nearest.first}, which was set by hand."
        return _Start(shot, AS_SET, why, 0.0, {**gone, **own})

    def _estimated(
        self, shots: Sequence[Shot], pictures: Pictures, lift: NDArray[np.float64], aim: float
    ) -> Iterator[_Start]:
        said = unsaid(pictures)
        found = None if said else estimated(pictures, lift, aim)
        settings: Mapping[str, Any] = {}
        if found is not None and not found.correction.is_neutral:
            _, scanned = self._look.statistics.pictures(shots[0].first, shots[0].stop, 1)[0]
            try:
                settings = self._chain.making(found.correction, self._stored(shots[0]), scanned)
            except BadInput as error:
                said = f"Left neutral: {clause(error)}."
        sure, amount = (found.sure, found.size) if found is not None and settings else (0.0, 0.0)
        for shot in shots:
            like = shots[0].first if shot is not shots[0] else None
            why = said or words(found, lift, like) if found is not None else said
            yield _Start(shot, sure, why, amount, settings)
