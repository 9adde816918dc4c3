"""Which frame is read next while the film runs, by when each is due and what reading costs. It is pure."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final, NamedTuple

from lamphouse.viewer.models.transport import Due
from lamphouse.viewer.turn.wishes import Wish

BACK: Final = 25  # pictures that something may be late, and is still shown (our choice)
BLOCK: Final = 8  # frames that are read forward where film in which pictures lean on others runs backward
SLACK: Final = 0.9  # of what reading is reckoned to cost


class Key(NamedTuple):
    """A frame, of the scan or of its working copy."""

    frame: int
    is_copy: bool


class Place(NamedTuple):
    """A frame that is wished for, and in how many nanoseconds it is due."""

    frame: int
    due: Due | None
    wait: int


class Course:
    """The pictures of a motion as they were wished for, and how often somebody comes to show one."""

    def __init__(self) -> None:
        self.between = 0  # nanoseconds from one wish to the next
        self._asked_at = 0
        self._motion = -1
        self._dues: dict[int, Due] = {}

    def ask(self, wish: Wish, now: int) -> None:
        """Take note of a wish."""
        motion = wish.due.motion if wish.due is not None and wish.is_moving else -1
        if motion != self._motion:
            self._motion, self.between, self._dues = motion, 0, {}
        elif motion >= 0:
            taken = now - self._asked_at
            self.between = (3 * self.between + taken) // 4 if self.between else taken
        self._asked_at = now
        due = {place.due.picture: place.due for place in places_of(wish) if place.due is not None}
        oldest = min(due, default=0) - BACK  # a film may run for hours
        self._dues = {picture: before for picture, before in self._dues.items() if picture > oldest} | due

    def before(self, wish: Wish) -> Iterator[Due]:
        """Give the pictures before the one that a wish asks for, the newest first."""
        assert wish.due is not None
        for picture in range(wish.due.picture - 1, max(0, wish.due.picture - BACK), -1):
            if picture in self._dues:
                yield self._dues[picture]


def places_of(wish: Wish) -> Iterator[Place]:
    """Give what a wish asks for now, and then what it will."""
    yield Place(wish.frame, wish.due, 0)
    for due, wait in wish.ahead:
        yield Place(due.frame, due, wait)


def next_place(
    wish: Wish, is_taken: Callable[[int], bool], cost: tuple[int, int], *, leaps: bool
) -> Place | None:
    """Return what is to be read next, or None where all has been or is being read.

    `is_taken` says that of a frame. `cost` is what one takes, and what passes from one to the next, in
    nanoseconds: nothing is begun that comes too late, unless nothing else is under way. Film that does not
    `leap` is read in the order of its file, in blocks where it runs backward.
    """
    if not wish.is_moving:
        return None if is_taken(wish.frame) else Place(wish.frame, wish.due, 0)
    places = list(places_of(wish))
    if not leaps and len(places) > 1 and places[1].frame < places[0].frame:
        places.sort(key=lambda place: (-(place.frame // BLOCK), place.frame))
        return next((place for place in places if not is_taken(place.frame)), None)
    return _in_time(places, is_taken, cost)


def _in_time(places: list[Place], is_taken: Callable[[int], bool], cost: tuple[int, int]) -> Place | None:
    one, between = (share * SLACK for share in cost)
    taken_at: int | None = None
    for place in places:
        if is_taken(place.frame):
            taken_at = place.wait
        elif place.wait >= one and (taken_at is None or place.wait - taken_at >= between):
            return place
    return places[0] if taken_at is None else None
