"""A scan, or a master, read on threads of its own: what is due first, and while the film runs what will be.

The newest wish wins, and an error is an answer. A picture that comes late is shown late, as long as no later
one has been; it is never waited for. Where reading is slower than the film, what cannot come in time is
passed over, so that what does come is seen when it is due.
"""

from __future__ import annotations

import os
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from threading import Condition, Thread
from time import perf_counter_ns
from typing import TYPE_CHECKING, Final, Protocol

from lamphouse.graph.media.codes.decode_planes import Coded
from lamphouse.graph.media.working_copy.copy import NotInCopy, WorkingCopy
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.scanned import Frame
from lamphouse.viewer.picture.ahead import Course, Key, Place, next_place, places_of
from lamphouse.viewer.turn.wishes import Answer, Wish

if TYPE_CHECKING:
    from lamphouse.graph.media.scan.scan import Source

ROOM: Final = 256 << 20  # bytes of frames that are held for a film that runs (our choice)
SHOWN: Final = 0.7  # of the time from one wish to the next, within which only one frame is read (our choice)
LEAST: Final = 2  # frames that are held in any case
MOST_THREADS: Final = 4  # that read one scan (our choice)


class NotThere(BadInput):
    """What is read is well, and has no such frame."""


class Opened(Protocol):
    """What frames are read from: a scan, or what answers like one.

    Where it has `is_all_keys`, and that is true, any of its frames is read as soon as the next.
    """

    def read_coded(self, frame: int) -> Source:
        """Return a frame, as `Scan.read_coded` does."""

    def close(self) -> None:
        """Let the file go."""


@dataclass(slots=True)
class _Shelf:
    """Frames that have been read, the longest unused first, and what reading one costs by now.

    `room` is how many bytes of them are held; two are in any case.
    """

    room: int
    found: OrderedDict[Key, Source] = field(default_factory=OrderedDict)
    failed: dict[Key, str] = field(default_factory=dict)
    cost: dict[bool, int] = field(default_factory=lambda: {False: 0, True: 0})  # ns, by whether of a copy
    held: int = 0  # bytes

    def put(self, key: Key, source: Source, taken: int) -> None:
        self.held += _bytes(source)
        self.found[key] = source
        before = self.cost[key.is_copy]
        self.cost[key.is_copy] = (3 * before + taken) // 4 if before else taken

    def make_room(self, wanted: frozenset[Key]) -> None:
        """Let go of what is not wanted, the longest unused first, until the rest has room."""
        if self.held <= self.room:
            return
        for key in [key for key in self.found if key not in wanted]:
            if self.held <= self.room or len(self.found) <= LEAST:
                return
            self.held -= _bytes(self.found.pop(key))

    def is_full(self) -> bool:
        """Say whether there is room for no more, beside the two that are always held."""
        return len(self.found) >= LEAST and self.held >= self.room


class Reader:
    """Reads frames of what `opened` opens. Both are called on its threads; keep `answered` short.

    More than one of the `threads` reads where frames lean on no others; `room` is for frames that are held,
    in bytes. While the film runs, a frame that the working `copy` has is read from that.
    """

    def __init__(
        self,
        opened: Callable[[], Opened],
        answered: Callable[[Answer], None],
        *,
        threads: int = 1,
        room: int = 0,
        copy: Callable[[], WorkingCopy | None] = lambda: None,
    ) -> None:
        self._opened, self._answered, self._copy = opened, answered, copy
        self._wish: Wish | None = None
        self._is_waited_for = False  # whether the wish is still to be answered
        self._last: Wish | None = None  # the newest that was answered
        self._shelf, self._busy, self._course = _Shelf(room), set[Key](), Course()
        self._is_all_keys: bool | None = None  # None until the file has been opened
        self._divide = 1  # the scan's raster over the copy's
        self._is_open, self._changed = True, Condition()
        self._threads = [
            Thread(target=self._work, args=(n,), name="reader", daemon=True) for n in range(threads)
        ]
        for thread in self._threads:
            thread.start()

    def ask(self, wish: Wish) -> None:
        """Take the newest wish; what is not under way for one before is forgotten."""
        with self._changed:
            self._course.ask(wish, perf_counter_ns())
            self._wish, self._is_waited_for = wish, True
            if not wish.is_moving:
                self._shelf.failed.clear()  # what was away may have come back
            self._shelf.make_room(self._wanted(wish))
            self._answer()
            self._changed.notify_all()

    def close(self, *, is_waited: bool = True) -> None:
        """Let threads and files go, and wait until that is done or not."""
        with self._changed:
            self._is_open = False
            self._changed.notify_all()
        for thread in self._threads if is_waited else ():
            thread.join()

    # What follows is called with the lock held.

    def _key(self, frame: int, wish: Wish) -> Key:
        copy = self._copy() if wish.is_moving else None
        return Key(frame, is_copy=copy is not None and copy.has(frame))

    def _wanted(self, wish: Wish) -> frozenset[Key]:
        return frozenset(self._key(place.frame, wish) for place in places_of(wish))

    def _answer(self) -> None:
        """Answer the wish where what it asks for is there, else with what came before and nobody has seen."""
        wish = self._wish
        if wish is None or not self._is_waited_for:
            return
        if self._tell_of(wish) or not wish.is_moving:
            return
        for due in self._course.before(wish):
            own = Wish(due.frame, wish.divides, due, is_moving=True)
            if not self._last_is_older(own) or self._tell_of(own):
                return

    def _tell_of(self, wish: Wish) -> bool:
        """Answer a wish, if what it asks for has been read; say whether it has."""
        key = self._key(wish.frame, wish)
        if key in self._shelf.found:
            self._shelf.found.move_to_end(key)
            self._tell(wish, self._frame(key, wish))
            return True
        if key in self._shelf.failed:
            self._tell(wish, None, self._shelf.failed[key])
            return True
        return False

    def _tell(self, wish: Wish, found: Frame | None, reason: str = "") -> None:
        if wish is self._wish:
            self._is_waited_for = False
        self._last = wish
        self._answered(Answer(wish, found, reason))

    def _frame(self, key: Key, wish: Wish) -> Frame:
        source = self._shelf.found[key]
        if not key.is_copy:
            return Frame(source, wish.divides)
        return Frame(source, (self._divide,), own=self._divide, is_copy=True)

    def _next(self, number: int) -> tuple[Place, Key, Wish] | None:
        """Return what a thread reads next, or None where there is nothing now."""
        wish = self._wish
        if wish is None or (number and not self._may_help(wish)):
            return None
        if wish.is_moving and self._shelf.is_full():
            wish = replace(wish, ahead=())
        place = next_place(wish, self._is_taken(wish), self._pace(wish), leaps=self._is_all_keys is not False)
        return None if place is None else (place, self._key(place.frame, wish), wish)

    def _may_help(self, wish: Wish) -> bool:
        return wish.is_moving and (self._is_all_keys is True or self._key(wish.frame, wish).is_copy)

    def _is_taken(self, wish: Wish) -> Callable[[int], bool]:
        """Return what says of a frame whether it has been read or is being read."""
        shelf = self._shelf

        def is_taken(frame: int) -> bool:
            key = self._key(frame, wish)
            return key in shelf.found or key in shelf.failed or key in self._busy

        return is_taken

    def _pace(self, wish: Wish) -> tuple[int, int]:
        """Return the nanoseconds that one frame takes, and those from one that is read to the next.

        What nobody comes to show need not be read.
        """
        is_copy = self._key(wish.frame, wish).is_copy
        cost = self._shelf.cost[is_copy]
        helping = len(self._threads) if is_copy or self._is_all_keys else 1
        return cost, max(cost // helping, int(self._course.between * SHOWN))

    def _take(self, place: Place, key: Key, wish: Wish) -> None:
        """Answer what has been read: the wish, or one that is late and newer than what was answered last."""
        self._busy.discard(key)
        newest = self._wish
        assert newest is not None
        self._answer()
        own = Wish(place.frame, wish.divides, place.due, is_moving=wish.is_moving)
        is_its_own = place.due == wish.due or place.due is None
        if own.frame != newest.frame and self._last_is_older(own) and (is_its_own or _is_due(own, newest)):
            self._tell_of(own)
        self._changed.notify_all()

    def _last_is_older(self, own: Wish) -> bool:
        return self._last is None or own.due is None or _time_of(self._last) < _time_of(own)

    # The threads.

    def _work(self, number: int) -> None:
        files: dict[bool, Opened] = {}
        while (job := self._job(number)) is not None:
            place, key, wish = job
            began = perf_counter_ns()
            try:
                source = self._file(files, key).read_coded(place.frame)
            except NotInCopy:  # it went while the film ran; the scan has it
                with self._changed:
                    self._busy.discard(key)
                continue
            except Exception as error:  # whatever a damaged file does, the desk lives on
                if not isinstance(error, NotThere) and key.is_copy in files:
                    files.pop(key.is_copy).close()
                with self._changed:
                    self._shelf.failed[key] = _sentence(place.frame, error)
                    self._take(place, key, wish)
                continue
            with self._changed:
                self._shelf.put(key, source, perf_counter_ns() - began)
                self._take(place, key, wish)
        for file in files.values():
            file.close()

    def _job(self, number: int) -> tuple[Place, Key, Wish] | None:
        """Wait for what is to be read, and take it in hand; None at the end."""
        with self._changed:
            while self._is_open:
                job = self._next(number)
                if job is not None:
                    self._busy.add(job[1])
                    return job
                self._changed.wait()
            return None

    def _file(self, files: dict[bool, Opened], key: Key) -> Opened:
        """Return what a frame is read from, opened: also again where it was away and has come back."""
        if key.is_copy not in files:
            files[key.is_copy] = self._opened_copy() if key.is_copy else self._opened()
            if not key.is_copy:
                self._is_all_keys = getattr(files[False], "is_all_keys", False)
        return files[key.is_copy]

    def _opened_copy(self) -> Opened:
        copy = self._copy()
        if copy is None:
            raise NotInCopy("There is no working copy any more.")
        self._divide = copy.divide
        return copy.open()


def threads_here() -> int:
    """Return how many threads read a scan on this machine."""
    return min(MOST_THREADS, os.cpu_count() or 1)


def _time_of(wish: Wish) -> tuple[int, int]:
    due = wish.due
    return (-1, -1) if due is None else (due.motion, due.picture)


def _is_due(own: Wish, newest: Wish) -> bool:
    return own.is_moving and newest.is_moving and _time_of(own) <= _time_of(newest)


def _bytes(source: Source) -> int:
    planes = source.planes if isinstance(source, Coded) else (source,)
    return sum(plane.nbytes for plane in planes)


def _sentence(frame: int, error: Exception) -> str:
    if isinstance(error, BadInput):
        return str(error)
    return f"Frame {frame} cannot be read ({error}); look at its file."
