"""The handles of an area matte: where they lie on the film, and what a matte becomes when one is moved.

Places are those that the mattes themselves know: picture heights right of and below the middle of the scan.
What each handle promises is what the matte is there before `invert`, and a test holds the nodes to it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from lamphouse.graph.chain.resolve import resolve
from lamphouse.graph.reel.records import NodeRef, ScanRef
from lamphouse.nodes.declare import Signal
from lamphouse.viewer.models.desk import Desk

Spot = tuple[float, float]
Values = Mapping[str, float]
Moved = Callable[[Values, Spot], dict[str, float]]

RING: Final = 0.07  # picture heights from the edge of an ellipse to the handle that turns it
ARM: Final = 0.45  # from the middle of a line to each of the handles that turn it
ASIDE: Final = 0.1  # between handles that would lie on one another
LEAST: Final = 1e-6
POINTS: Final = 64  # of an ellipse that is drawn


@dataclass(frozen=True, slots=True)
class Handle:
    """A handle of a matte. One that is out of the picture waits at its border where `is_sought`."""

    name: str
    at: Spot
    share: float  # what the matte is there
    is_sought: bool = False
    is_ring: bool = False  # whether it turns


@dataclass(frozen=True, slots=True)
class Outline:
    """A line on which the matte is `share` everywhere."""

    points: tuple[Spot, ...]
    share: float


@dataclass(frozen=True, slots=True)
class Shape:
    """A kind of matte that has handles."""

    handles: Callable[[Values], tuple[Handle, ...]]
    outlines: Callable[[Values], tuple[Outline, ...]]
    moves: Mapping[str, Moved]
    middle: str  # the handle that moves all of it


def matte_node(desk: Desk, node: str) -> NodeRef | None:
    """Return the matte that a node of the chain is, or the first that it takes; None where there is none."""
    by_name = {ref.name: ref for ref in desk.reel.chain.nodes}
    ref = by_name.get(node)
    if ref is None:
        return None
    declared = resolve(ref, desk.catalogue)
    if declared.signal is Signal.MATTE:
        return ref
    wires = zip(declared.inputs, ref.inputs, strict=False)
    taken = (source for name, source in wires if name in declared.mattes)
    return next((by_name[source] for source in taken if source in by_name), None)


def values_of(desk: Desk, ref: NodeRef) -> dict[str, float]:
    """Return what the cue that holds sets on a matte."""
    parameters = resolve(ref, desk.catalogue).parameters
    return {p.name: float(desk.own(f"{ref.name}.{p.name}")) for p in parameters}  # type: ignore[arg-type]


def seen_at(scan: ScanRef, spot: Spot) -> Spot:
    """Return where in the scan a place of a matte is, in shares of it."""
    return spot[0] / scan.aspect + 0.5, spot[1] + 0.5


def spot_at(scan: ScanRef, place: Spot) -> Spot:
    """Return the place of a matte that is at shares of the scan: undoes `seen_at`."""
    return (place[0] - 0.5) * scan.aspect, place[1] - 0.5


def nudge(desk: Desk, node: str, handle: str, by: Spot) -> bool:
    """Move a handle of a node's matte, all of it where it has no such handle; say whether there is one."""
    ref = matte_node(desk, node)
    if ref is None or ref.kind not in SHAPES:
        return False
    shape, values = SHAPES[ref.kind], values_of(desk, ref)
    places = {found.name: found.at for found in shape.handles(values)}
    name = handle if handle in places else shape.middle
    x, y = places[name]
    desk.set(moved(desk, ref, values, name, (x + by[0], y + by[1])))
    return True


def moved(desk: Desk, ref: NodeRef, begun: Values, handle: str, to: Spot) -> dict[str, float]:
    """Return the settings of a matte that was `begun` once a handle of it is at `to`, within their ranges."""
    node = resolve(ref, desk.catalogue)
    changed = SHAPES[ref.kind].moves[handle](begun, to)
    return {f"{ref.name}.{name}": node.parameter(name).within(value) for name, value in changed.items()}


def _along(angle: float) -> Spot:
    return math.cos(math.radians(angle)), math.sin(math.radians(angle))


def _from(place: Spot, way: Spot, by: float) -> Spot:
    return place[0] + way[0] * by, place[1] + way[1] * by


def _dot(a: Spot, b: Spot) -> float:
    return a[0] * b[0] + a[1] * b[1]


def _nearest_turn(angle: float, before: float) -> float:
    """Return an angle in degrees as the whole turn from it that is nearest to the one before."""
    return before + math.remainder(angle - before, 360.0)


# An ellipse: whole within, half on its outline, with an edge as wide as its softness says.


def _axes(v: Values) -> tuple[Spot, Spot, Spot]:
    along = _along(v["angle"])
    return (v["centre_x"], v["centre_y"]), along, (-along[1], along[0])


def _ellipse_handles(v: Values) -> tuple[Handle, ...]:
    centre, along, beside = _axes(v)
    outer = 1 + v["softness"] / 2
    return (
        Handle("centre", centre, 1.0, is_sought=True),
        Handle("width", _from(centre, along, v["half_width"]), 0.5, is_sought=True),
        Handle("height", _from(centre, beside, v["half_height"]), 0.5, is_sought=True),
        Handle("softness", _from(centre, along, -v["half_width"] * outer), 0.0),
        Handle("turn", _from(centre, along, v["half_width"] * outer + RING), 0.0, is_ring=True),
    )


def _ellipse_outlines(v: Values) -> tuple[Outline, ...]:
    soft = v["softness"] / 2
    shares = ((1 - soft, 1.0), (1 + soft, 0.0), (1.0, 0.5))
    return tuple(Outline(_ellipse(v, radius), share) for radius, share in shares)


def _ellipse(v: Values, radius: float) -> tuple[Spot, ...]:
    centre, along, beside = _axes(v)
    turns = [math.tau * n / POINTS for n in range(POINTS)]
    wide, high = v["half_width"] * radius, v["half_height"] * radius
    return tuple(
        _from(_from(centre, along, wide * math.cos(turn)), beside, high * math.sin(turn)) for turn in turns
    )


def _off(v: Values, to: Spot, axis: int) -> float:
    """Return how far a place is from the centre of an ellipse along its width (1) or height (2)."""
    axes = _axes(v)
    return abs(_dot((to[0] - axes[0][0], to[1] - axes[0][1]), axes[axis]))


def _turned_ellipse(v: Values, to: Spot) -> dict[str, float]:
    angle = math.degrees(math.atan2(to[1] - v["centre_y"], to[0] - v["centre_x"]))
    return {"angle": _nearest_turn(angle, v["angle"])}


# A graduated matte: whole up to one line, nothing from another on.


def _lines(v: Values) -> tuple[Spot, Spot]:
    """Return the direction in which the matte fades, and that of its lines."""
    across, down = _along(v["angle"])
    return (down, across), (across, -down)


def _on_line(v: Values, along: float, aside: float) -> Spot:
    fades, line = _lines(v)
    return _from(_from((0.0, 0.0), fades, along - 0.5), line, aside)


def _graduated_handles(v: Values) -> tuple[Handle, ...]:
    middle = (v["full"] + v["clear"]) / 2
    return (
        Handle("full", _on_line(v, v["full"], -ASIDE), 1.0, is_sought=True),
        Handle("both", _on_line(v, middle, 0.0), 0.5, is_sought=True),
        Handle("clear", _on_line(v, v["clear"], ASIDE), 0.0, is_sought=True),
        Handle("left end", _on_line(v, v["full"], -ARM), 1.0, is_ring=True),
        Handle("right end", _on_line(v, v["full"], ARM), 1.0, is_ring=True),
    )


def _graduated_outlines(v: Values) -> tuple[Outline, ...]:
    far = 9.0  # picture heights: beyond the border of any
    return tuple(
        Outline((_on_line(v, along, -far), _on_line(v, along, far)), share)
        for along, share in ((v["full"], 1.0), (v["clear"], 0.0))
    )


def _at_line(v: Values, to: Spot) -> float:
    return _dot(to, _lines(v)[0]) + 0.5


def _shifted(v: Values, to: Spot) -> dict[str, float]:
    by = _at_line(v, to) - (v["full"] + v["clear"]) / 2
    return {"full": v["full"] + by, "clear": v["clear"] + by}


def _end_moved(v: Values, to: Spot, side: int) -> dict[str, float]:
    """Turn the lines so that the full one runs through `to` and where its other end was."""
    stays = _on_line(v, v["full"], -side * ARM)
    way = (to[0] - stays[0]) * side, (to[1] - stays[1]) * side
    if math.hypot(*way) < LEAST:
        return {}
    angle = _nearest_turn(math.degrees(math.atan2(-way[1], way[0])), v["angle"])
    full = _at_line({**v, "angle": angle}, stays)
    return {"angle": angle, "full": full, "clear": full + v["clear"] - v["full"]}


SHAPES: Final[Mapping[str, Shape]] = MappingProxyType(
    {
        "ellipse": Shape(
            _ellipse_handles,
            _ellipse_outlines,
            {
                "centre": lambda v, to: {"centre_x": to[0], "centre_y": to[1]},
                "width": lambda v, to: {"half_width": _off(v, to, 1)},
                "height": lambda v, to: {"half_height": _off(v, to, 2)},
                "softness": lambda v, to: {"softness": 2 * (_off(v, to, 1) / v["half_width"] - 1)},
                "turn": _turned_ellipse,
            },
            "centre",
        ),
        "graduated": Shape(
            _graduated_handles,
            _graduated_outlines,
            {
                "full": lambda v, to: {"full": _at_line(v, to)},
                "clear": lambda v, to: {"clear": _at_line(v, to)},
                "both": _shifted,
                "left end": lambda v, to: _end_moved(v, to, -1),
                "right end": lambda v, to: _end_moved(v, to, 1),
            },
            "both",
        ),
    }
)
