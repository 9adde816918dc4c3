"""The sticks at the desk: they move the controls of the cue that holds, and do what keys do."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, Protocol

from lamphouse.viewer.desk import Desk
from lamphouse.viewer.keys import KEYS
from lamphouse.viewer.screen import Screen
from lamphouse.viewer.sticks.mapping import StickMap, stick_map
from lamphouse.viewer.sticks.poll import Poll
from lamphouse.viewer.sticks.step import Event, Pose, step

# A gamepad first: every gamepad is a joystick too.
PRESETS: Final = ("gamepad", "two-sticks")
EVERY: Final = 20_000_000  # nanoseconds from one look at the sticks to the next while one is there
LET_GO: Final = 300_000_000  # nanoseconds without a nudge after which the next one is another step to undo


class Device(Protocol):
    """Something that says where its sticks stand."""

    def read(self) -> Pose | None:
        """Return the pose, or None when it is not there."""


class Hands:
    """Follows the first device that is there."""

    def __init__(self, devices: Sequence[tuple[StickMap, Device]] | None = None) -> None:
        self._devices = devices if devices is not None else _presets()
        self._before: Pose | None = None
        self._map: StickMap | None = None
        self._looked_at = self._nudged_at = 0

    @property
    def are_there(self) -> bool:
        """Whether there was a device at the last look."""
        return self._before is not None

    def take(self, desk: Desk, screen: Screen, now: int) -> bool:
        """Do what the sticks say since the last look; say whether that was anything."""
        for mapping, device in self._devices:
            pose = device.read()
            if pose is None:
                continue
            events: tuple[Event, ...] = ()
            if self._before is not None and self._map is mapping:
                events = step(self._before, pose, mapping, now - self._looked_at)
            self._before, self._map, self._looked_at = pose, mapping, now
            self._do(desk, screen, events, now)
            return bool(events)
        self._before = None
        return False

    def _do(self, desk: Desk, screen: Screen, events: tuple[Event, ...], now: int) -> None:
        if self._nudged_at and now - self._nudged_at > LET_GO:
            desk.history.end_drag()
            self._nudged_at = 0
        for event in events:
            if event[0] == "nudge":
                desk.nudge(event[1], event[2])
                self._nudged_at = now
            else:
                _act(desk, screen, event[1])


def _act(desk: Desk, screen: Screen, action: str) -> None:
    for key in KEYS:
        if key.action == action:
            key.act(desk, screen)
            return
    desk.said = f"The sticks' mapping asks for {action}, which the desk does not know."


def _presets() -> list[tuple[StickMap, Device]]:
    maps = [stick_map(name) for name in PRESETS]
    return [(mapping, Poll(mapping.device)) for mapping in maps]
