"""Pictures of the record page, made ready on a thread: what was sent and what came back, and joins."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from concurrent.futures import CancelledError, Future, ThreadPoolExecutor
from contextlib import suppress
from typing import Generic, TypeVar

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.grade.grade import Shown
from lamphouse.graph.scopes.drawn import parade_drawn, plane_drawn
from lamphouse.graph.scopes.parade import parade
from lamphouse.graph.scopes.vectorscope import vectorscope
from lamphouse.nodes.colour_encoding import ColourEncoding
from lamphouse.viewer.colours import CHANNELS
from lamphouse.viewer.jobs.said import Pair
from lamphouse.viewer.jobs.small import Small
from lamphouse.viewer.jobs.stale import Joins, Stale, joins_of, stale_of
from lamphouse.viewer.models.monitors import Monitor
from lamphouse.viewer.models.record_asked import JoinsCase, RecordAsked, RecordFound, StaleCase
from lamphouse.viewer.picture.monitor import monitor_code

Texels = NDArray[np.uint8]
Key = TypeVar("Key")
Found = TypeVar("Found")


class Lane(Generic[Key, Found]):
    """One thing that is asked for again and again: the newest wins, and the same is not asked twice."""

    def __init__(self, pool: ThreadPoolExecutor, work: Callable[[Key], Found], wake: Callable[[], None]):
        self._pool, self._work, self._wake = pool, work, wake
        self._asked: Key | None = None
        self._future: Future[Found] | None = None

    def ask(self, key: Key | None) -> None:
        """Ask for what belongs to `key`; None: nothing any more."""
        if key == self._asked:
            return
        if self._future is not None:
            self._future.cancel()
        self._asked, self._future = key, None
        if key is not None:
            self._future = self._pool.submit(self._work, key)
            self._future.add_done_callback(lambda _: self._wake())

    def take(self) -> Found | None:
        """Return what was asked for last, once, when it has come."""
        if self._future is None or not self._future.done():
            return None
        future, self._future = self._future, None
        with suppress(CancelledError):
            return future.result()
        return None

    @property
    def is_settled(self) -> bool:
        """Whether nothing is on its way."""
        return self._future is None


class Recorded:
    """Makes ready what the record page shows; `wake` is called on its thread when there is something."""

    def __init__(self, wake: Callable[[], None], monitor: Monitor) -> None:
        self.monitor = monitor
        self._pool = ThreadPoolExecutor(1, thread_name_prefix="recorded")
        self._shown: tuple[ColourEncoding, Shown] | None = None
        self._pairs: Lane[Pair, Mapping[str, Texels]] = Lane(self._pool, self._of_pair, wake)
        self._stale: Lane[StaleCase, Stale] = Lane(self._pool, _stale, wake)
        self._joins: Lane[JoinsCase, tuple[Joins, Mapping[str, Texels]]] = Lane(
            self._pool, self._of_joins, wake
        )

    def close(self) -> None:
        """Let the threads go."""
        self._pool.shutdown(cancel_futures=True)
        if self._shown is not None:
            self._shown[1].close()

    @property
    def is_settled(self) -> bool:
        """Whether all that was asked for has come."""
        return all(lane.is_settled for lane in (self._pairs, self._stale, self._joins))

    def ask(self, asked: RecordAsked) -> None:
        """Ask for what the page shows."""
        self._pairs.ask(asked.pair)
        self._stale.ask(asked.stale)
        self._joins.ask(asked.joins)

    def take(self) -> tuple[RecordFound | None, dict[str, Texels]]:
        """Return what has come since the last call, and pictures (h, w, 4) by name."""
        stale, joins, texels = self._stale.take(), self._joins.take(), dict[str, Texels]()
        texels.update(self._pairs.take() or {})
        if joins is not None:
            texels.update(joins[1])
        if stale is None and joins is None and not texels:
            return None, {}
        return RecordFound(stale, joins[0] if joins else None), texels

    def _of_pair(self, pair: Pair) -> dict[str, Texels]:
        found: dict[str, Texels] = {}
        drawn: dict[str, Texels] = {}
        for who, one in (("sent", pair.sent), ("came", pair.came)):
            if one is not None:
                drawn = drawn if drawn and pair.is_equal else self._drawn(one)
                found |= {f"{who} {what}": texels for what, texels in drawn.items()}
        return found

    def _of_joins(self, case: JoinsCase) -> tuple[Joins, Mapping[str, Texels]]:
        found = joins_of(case.opened, case.master, case.record, case.numbers)
        rows = (("now", found.now), ("new", found.new))
        return found, {
            f"{row} {what}": shown_texels(one, self.monitor)
            for row, all_ in rows
            for what, one in all_.items()
        }

    def _drawn(self, small: Small) -> dict[str, Texels]:
        signal = self._signal(small)
        return {
            "picture": shown_texels(signal, self.monitor),
            "parade": parade_drawn(parade(signal), CHANNELS),
            "plane": plane_drawn(vectorscope(signal)),
        }

    def _signal(self, small: Small) -> NDArray[np.float32]:
        colour = small.coding.colour
        if self._shown is None or self._shown[0] != colour:
            if self._shown is not None:
                self._shown[1].close()
            self._shown = colour, Shown(colour)
        return self._shown[1].of(small.coded)


def shown_texels(signal: NDArray[np.float32], on: Monitor) -> Texels:
    """Return video signal (3, h, w) as the monitor shows it, (h, w, 4)."""
    texels = np.full((*signal.shape[1:], 4), 255, np.uint8)
    codes = np.clip(monitor_code(signal.reshape(3, -1), on) * 255 + 0.5, 0, 255)
    texels[..., :3] = np.moveaxis(codes.reshape(signal.shape), 0, -1)
    return texels


def _stale(case: StaleCase) -> Stale:
    try:
        return stale_of(case.opened, case.master, case.record)
    except Exception as error:  # whatever a plug-in or a file does, the desk lives on
        return Stale(case.master, reason=f"What is stale cannot be found ({error}); look at the chain.")
