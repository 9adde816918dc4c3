"""From where the sticks were and are to what changes: a pure function, tested without any sticks."""

from __future__ import annotations

from math import hypot, isnan
from typing import Final, Literal, NamedTuple

from lamphouse.viewer.sticks.mapping import Move, Source, StickMap

# Of two joysticks the second begins at fixed numbers, so that a mapping does not depend on how many axes and
# buttons the first one has.
AXES_EACH: Final = 8
BUTTONS_EACH: Final = 32

FINE: Final = 0.1
SECOND: Final = 1_000_000_000  # nanoseconds

# After a pause the sticks move on by no more than this: nobody meant a jump (our choice).
LONGEST: Final = SECOND // 10

# An axis that has gone half its way was meant; less may be a hand that lies on it (our choice).
MEANT: Final = 0.5

Vector = tuple[float, ...]
Nudge = tuple[Literal["nudge"], str, Vector]
Action = tuple[Literal["action"], str]
Event = Nudge | Action


class Pose(NamedTuple):
    """Where every axis stands, -1 to 1 (nan: there is none), and which buttons are down."""

    axes: tuple[float, ...]
    buttons: tuple[bool, ...]

    def axis(self, number: int) -> float:
        """Return where that axis stands, or nan."""
        return self.axes[number] if number < len(self.axes) else float("nan")

    def is_down(self, button: int | None) -> bool:
        """Say whether that button is there and down."""
        return button is not None and button < len(self.buttons) and self.buttons[button]


class Seen(NamedTuple):
    """What a device says of itself: its names, one for each of two joysticks, and which buttons it has."""

    names: tuple[str, ...]
    buttons: tuple[int, ...]


def step(previous: Pose, current: Pose, mapping: StickMap, dt: int) -> tuple[Event, ...]:
    """Return what happened in the `dt` nanoseconds from one pose to the next.

    First ("nudge", control, vector): what is added to a control, across and up the plane (Cb, Cr) or along
    its line, at most once for each control; then ("action", name) for each button that went down.
    """
    share = mapping.sensitivity * (FINE if current.is_down(mapping.fine) else 1.0)
    nudges: dict[str, Vector] = {}
    for move in _live(mapping, current):
        change = _change(move, previous, current, mapping.dead_zone, min(dt, LONGEST) / SECOND)
        if any(change):
            vector = tuple(share * c for c in change)
            before = nudges.get(move.control, (0.0,) * len(vector))
            nudges[move.control] = tuple(a + b for a, b in zip(before, vector, strict=True))
    pressed = (p for p in mapping.presses if current.is_down(p.button) and not previous.is_down(p.button))
    return (
        *(("nudge", control, vector) for control, vector in nudges.items()),
        *(("action", press.action) for press in pressed),
    )


def touched(before: Pose, now: Pose) -> Source | None:
    """Return the button that went down, or else the axis that went half its way, or None.

    So a person who maps a control says which one they mean.
    """
    for number in range(len(now.buttons)):
        if now.is_down(number) and not before.is_down(number):
            return ("button", number)
    ways = [abs(now.axis(n) - before.axis(n)) for n in range(len(now.axes))]
    way, number = max(((w, n) for n, w in enumerate(ways) if not isnan(w)), default=(0.0, 0))
    return ("axis", number) if way >= MEANT else None


def _live(mapping: StickMap, pose: Pose) -> list[Move]:
    """Return the moves that work now: those whose button is held, and of the rest those they leave alone."""
    held = [move for move in mapping.moves if pose.is_down(move.held)]
    taken = {source for move in held for source in move.sources}
    return held + [m for m in mapping.moves if m.held is None and taken.isdisjoint(m.sources)]


def _change(move: Move, previous: Pose, current: Pose, dead_zone: float, seconds: float) -> Vector:
    if move.by == "travel":
        ways = (current.axis(n) - previous.axis(n) for n in move.axes)
        gone = tuple(0.0 if isnan(way) else way for way in ways)
    else:
        gone = tuple(seconds * d for d in _beyond(_deflection(move, current), dead_zone))
    return tuple(amount * g for amount, g in zip(move.amounts, gone, strict=True))


def _deflection(move: Move, pose: Pose) -> Vector:
    """Return how far each axis stands from its rest, of 1; buttons stand at the end or at rest."""
    if move.buttons:
        less, more = move.buttons
        return (float(pose.is_down(more)) - float(pose.is_down(less)),)
    away = ((pose.axis(n) - move.rest) / (1 + abs(move.rest)) for n in move.axes)
    return tuple(0.0 if isnan(a) else a for a in away)


def _beyond(deflection: Vector, dead_zone: float) -> Vector:
    """Return the deflection beyond the dead zone, drawn out so that it begins at 0 and still ends at 1.

    The zone is round: a stick pushed aslant keeps its direction.
    """
    size = hypot(*deflection)
    if size <= dead_zone:
        return (0.0,) * len(deflection)
    drawn = min(1.0, (size - dead_zone) / (1 - dead_zone))
    return tuple(d / size * drawn for d in deflection)
