"""When the samples that a device asks for will be heard.

A device asks for samples as soon as it has room, and never sooner; its thread may be late. So the earliest
of its last requests tells how its samples lie on our clock, and nothing is added up from request to request.
"""

from __future__ import annotations

from collections import deque
from typing import Final

from lamphouse.viewer.models.transport import SECOND

REQUESTS: Final = 16  # that are looked back on: enough that one of them was prompt


class Line:
    """A device that has just begun, at `rate` samples a second, `queued` samples ahead of what is heard.

    It asks for two such lengths at once, to have one in hand, and from then on as they are heard.
    """

    def __init__(self, rate: int, queued: int) -> None:
        self._rate, self._queued = rate, queued
        self._begins: deque[int] = deque(maxlen=REQUESTS)
        self._asked = 0

    def heard(self, now: int, count: int) -> int | None:
        """Return when the first of the `count` samples that are asked for at `now` will be heard.

        None while the device fills what it keeps in hand: until then its requests tell no time.
        """
        began = now - self._time(self._asked)
        if self._begins and began - min(self._begins) > self._time(2 * self._queued):
            self._begins.clear()  # it ran dry: from here on everything is later
        self._begins.append(began)
        heard = min(self._begins) + self._time(self._asked + self._queued)
        is_filled = self._asked >= 2 * self._queued
        self._asked += count
        return heard if is_filled else None

    def _time(self, samples: int) -> int:
        return samples * SECOND // self._rate
