"""A person shows which joystick or button they mean: what is asked of them, and what follows from it.

Which way the stick is pushed says which way the control goes: nobody needs to know the sign of an axis.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import copysign, nan
from typing import Final, Literal

import msgspec

from lamphouse.nodes.parameter import Parameter
from lamphouse.nodes.values import Travel
from lamphouse.viewer.sticks.mapping import By, Move, Press, Source, StickMap, with_move, with_press
from lamphouse.viewer.sticks.step import AXES_EACH, Pose, touched

Want = Literal["plane", "line", "press", "held", "fine"]

# What a control does in a second of full deflection before a person says otherwise (our choice): about
# half a second's push from one setting to a visibly different one.
PLANE_AMOUNT: Final = 0.2
LOG_AMOUNT: Final = 0.2
RANGE_SHARE: Final = 0.05
UNKNOWN_AMOUNT: Final = 0.1
AT_AN_END: Final = 0.75  # beyond this an axis rests at its end, as a trigger does


@dataclass(frozen=True, slots=True)
class Learning:
    """What is being learned: for which control or action, for which row, and what was shown so far.

    `found` has each axis or button with the way it went, 1 or -1, and where it had stood.
    """

    want: Want
    target: str = ""
    row: int | None = None  # of the moves or the presses, which it takes the place of; None: a new one
    amount: float = UNKNOWN_AMOUNT
    start: Pose | None = None
    found: tuple[tuple[Source, float, float], ...] = ()

    @property
    def is_done(self) -> bool:
        """Whether all has been shown."""
        kinds = [source[0] for source, _, _ in self.found]
        is_pair = self.want == "line" and kinds[:1] == ["button"]
        return len(kinds) == (2 if is_pair or self.want == "plane" else 1)

    @property
    def asks(self) -> str:
        """The sentence that says what to do now."""
        words = self.target.replace("_", " ").replace(".", " ")
        return _ASKED[self.want, len(self.found)].format(words)


_ASKED: Final[dict[tuple[Want, int], str]] = {
    ("plane", 0): "{}: push a joystick across, to the right.",
    ("plane", 1): "{}: now push it up, away from you.",
    ("line", 0): "{}: move a joystick or lever the way that raises it, or press the button that raises it.",
    ("line", 1): "{}: now press the button that lowers it.",
    ("press", 0): "{}: press the button that does it.",
    ("held", 0): "{}: press the button that is to be held meanwhile.",
    ("fine", 0): "Press the button that makes everything a tenth while it is held.",
}


def learning(target: str, parameter: Parameter | None, row: int | None = None) -> Learning:
    """Return what learning a control begins with: a plane for a balance, else a line."""
    if parameter is None:
        return Learning("line", target, row)
    if parameter.kind.axes == 2:
        return Learning("plane", target, row, PLANE_AMOUNT)
    range_ = parameter.high - parameter.low
    return Learning(
        "line", target, row, LOG_AMOUNT if parameter.travel is Travel.LOG else RANGE_SHARE * range_
    )


def after_pose(now: Learning, pose: Pose) -> Learning:
    """Return the learning after a look at the sticks; the first look only says where all stands."""
    if now.start is None:
        return replace(now, start=pose)
    start = now.start._replace(
        buttons=tuple(down and pose.is_down(n) for n, down in enumerate(now.start.buttons))
    )
    source = touched(*(_still_to_show(now, p) for p in (start, pose)))
    if source is None:
        return replace(now, start=start)
    kind, number = source
    before = start.axis(number) if kind == "axis" else 0.0
    way = copysign(1.0, pose.axis(number) - before) if kind == "axis" else 1.0
    return replace(now, start=start, found=(*now.found, (source, way, before)))


def _still_to_show(now: Learning, pose: Pose) -> Pose:
    """Return the pose with only what may be shown next: no part twice, no button for a plane."""
    shown = {source for source, _, _ in now.found}
    no_axes = now.want not in ("plane", "line") or any(kind == "button" for kind, _ in shown)
    axes = () if no_axes else tuple(nan if ("axis", n) in shown else a for n, a in enumerate(pose.axes))
    if now.want == "plane":
        return Pose(axes, ())
    return Pose(axes, tuple(down and ("button", n) not in shown for n, down in enumerate(pose.buttons)))


def learned(mapping: StickMap, done: Learning) -> StickMap:
    """Return the mapping with what was shown. Raises BadInput where a button would have two tasks."""
    numbers = [source[1] for source, _, _ in done.found]
    if done.want == "fine":
        return msgspec.structs.replace(mapping, fine=numbers[0])
    if done.want == "press":
        return with_press(mapping, Press(button=numbers[0], action=done.target), done.row)
    if done.want == "held" and done.row is not None:
        move = msgspec.structs.replace(mapping.moves[done.row], held=numbers[0])
        return with_move(mapping, move, done.row)
    old = mapping.moves[done.row] if done.row is not None else None
    return with_move(mapping, _move(mapping, done, old), done.row)


def _move(mapping: StickMap, done: Learning, old: Move | None) -> Move:
    held = old.held if old else None
    numbers = tuple(source[1] for source, _, _ in done.found)
    if done.found[0][0][0] == "button":
        more, less = numbers
        amount = abs(old.amounts[0]) if old else done.amount
        return Move(control=done.target, buttons=(less, more), amounts=(amount,), held=held)
    stays = mapping.device == "joysticks" and len(numbers) == 1 and numbers[0] % AXES_EACH >= 2
    by: By = old.by if old and old.axes else "travel" if stays else "rate"
    ways = [way for _, way, _ in done.found]
    sizes = (
        [abs(a) for a in old.amounts] if old and len(old.amounts) == len(ways) else [done.amount] * len(ways)
    )
    amounts = tuple(way * size for way, size in zip(ways, sizes, strict=True))
    return Move(control=done.target, axes=numbers, amounts=amounts, by=by, rest=_rest(done, by), held=held)


def _rest(done: Learning, by: By) -> float:
    """Return where the axis rests: at an end where it stood there, as triggers do, else in the middle."""
    before = done.found[0][2]
    is_at_end = len(done.found) == 1 and by == "rate" and abs(before) > AT_AN_END
    return copysign(1.0, before) if is_at_end else 0.0
