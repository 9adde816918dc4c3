"""The sticks at the desk: they move the controls of the cue that holds, and do what keys do."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Protocol

from lamphouse.viewer.models.commands.command import Command
from lamphouse.viewer.models.commands.table import BY_NAME, is_asking
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.drags import Drag
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.sticks.mapping import Device as Kind
from lamphouse.viewer.sticks.page import SticksPage
from lamphouse.viewer.sticks.step import Event, Pose, Seen, step

LET_GO: Final = 300_000_000  # nanoseconds without a nudge after which the next one is another step to undo
STILL: Final = 0.02  # of an axis: what trembles no more than this stands still (our choice)


@dataclass(frozen=True, slots=True)
class Moved:
    """Whether there is anything new to see, and the commands of buttons that went down."""

    is_new: bool = False
    commands: tuple[Command, ...] = ()


class Device(Protocol):
    """Something that says where its sticks stand."""

    def read(self) -> Pose | None:
        """Return the pose, or None when it is not there."""

    def seen(self) -> Seen | None:
        """Return its names and buttons, or None when it is not there."""


class Hands:
    """Follows the first device that is there, by the mapping that the screen's page of the sticks has."""

    def __init__(self, devices: Sequence[tuple[Kind, Device]]) -> None:
        self._devices = devices
        self._before: Pose | None = None
        self._kind: Kind | None = None
        self._looked_at = self._nudged_at = 0
        self._still_since: int | None = None
        self._drag: Drag | None = None  # a push is one, whatever it moves

    @property
    def are_there(self) -> bool:
        """Whether there was a device at the last look."""
        return self._before is not None

    def take(self, desk: Desk, panels: Panels, now: int) -> Moved:
        """Move the controls as the sticks say since the last look, and return what else they ask."""
        page = panels.sticks
        for kind, device in self._devices:
            pose = device.read()
            if pose is not None:
                before = self._before if self._kind == kind else None
                page.look(kind, device.seen() if page.is_open else page.seen, pose)
                events = self._events(page, before, pose, now)
                self._before, self._kind, self._looked_at = pose, kind, now
                self._nudge(desk, panels, events, now)
                is_new = bool(events) or (page.is_open and pose != before)
                return Moved(is_new, tuple(_commands(desk, events)))
        was_there, self._before = self._before is not None, None
        page.look(page.device, None, None)
        return Moved(was_there and page.is_open)

    def _events(self, page: SticksPage, before: Pose | None, pose: Pose, now: int) -> tuple[Event, ...]:
        """Return what happened; nothing while the page learns, and until the hand has come to rest after."""
        if page.learning is not None:
            page.listen(pose)
            self._still_since = now
            return ()
        if self._still_since is not None:
            if before is None or _has_moved(before, pose):
                self._still_since = now
            if now - self._still_since < LET_GO:
                return ()
            self._still_since = None
        return step(before, pose, page.mapping, now - self._looked_at) if before is not None else ()

    def _nudge(self, desk: Desk, panels: Panels, events: tuple[Event, ...], now: int) -> None:
        if self._nudged_at and now - self._nudged_at > LET_GO:
            self._nudged_at, self._drag = 0, None
        for event in () if is_asking(desk, panels) else events:
            if event[0] == "nudge":
                self._drag = self._drag or desk.grasp("sticks")
                desk.nudge(event[1], event[2], self._drag)
                self._nudged_at = now


def _commands(desk: Desk, events: tuple[Event, ...]) -> Iterator[Command]:
    for event in events:
        if event[0] == "action" and event[1] in BY_NAME:
            yield BY_NAME[event[1]]
        elif event[0] == "action":
            desk.message = f"The joysticks' mapping asks for {event[1]}, which the desk does not know."


def _has_moved(before: Pose, now: Pose) -> bool:
    ways = (abs(b - a) for a, b in zip(before.axes, now.axes, strict=False))
    return before.buttons != now.buttons or any(way > STILL for way in ways)
