"""The chain drawn and edited: boxes from the scan to what leaves, wires dragged from end to end.

A wire that carries a picture is a whole line, one that carries a matte a thin dashed one; boxes, ends and the
line above them say so in words. A wire that cannot be is refused, and the desk says why.
Where the boxes stand follows from the wires alone, so there is nothing to tidy and nothing to keep.
"""

from __future__ import annotations

from math import ceil, hypot
from typing import Final

import numpy as np
from imgui_bundle import ImVec2, imgui

from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.chain.resolve import missing, resolve
from lamphouse.graph.edits.wires import with_output, with_wire
from lamphouse.graph.reel.records import NodeRef
from lamphouse.nodes.declare import Signal
from lamphouse.viewer import colours
from lamphouse.viewer.colours import Colour
from lamphouse.viewer.models.chain_map import CHAIN_OUTPUT, Spot, chain_map, used
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import NODE_OUTPUT, End, Panels
from lamphouse.viewer.panels import look
from lamphouse.viewer.panels.chain_list import chain_list
from lamphouse.viewer.panels.draw import begun, box, frame, path, text_at
from lamphouse.viewer.panels.flow import beside, wrapped

COLUMN: Final = 150.0
HINT: Final = "drag a wire by either end; a dashed one carries a matte"
INSET: Final = 9.0
BETWEEN: Final = 32.0  # of a box and the next
ROW: Final = 60.0
TALL: Final = 46.0
PORT: Final = 5.0
NEAR: Final = 16.0  # pixels within which an end is meant
DASH: Final = 6.0  # pixels of a dash, and of the gap behind it
Point = tuple[float, float]


def chain(desk: Desk, panels: Panels, width: float, height: float) -> None:
    """Draw the chain and take what is done to it."""
    imgui.begin_child("chain", ImVec2(width, height))
    _tools(desk, panels)
    imgui.begin_child("map", ImVec2(0, 0), 0, imgui.WindowFlags_.horizontal_scrollbar)
    drawn = _Map(desk, panels)
    drawn.wires()
    drawn.boxes()
    drawn.ends()
    drawn.in_hand()
    imgui.end_child()
    imgui.end_child()


def _tools(desk: Desk, panels: Panels) -> None:
    chain_list(desk, panels)
    imgui.same_line()
    names = [ref.name for ref in desk.reel.chain.nodes]
    imgui.begin_disabled(panels.node not in names)
    if imgui.button("take out"):
        desk.take_out(panels.node)
    imgui.set_item_tooltip("Its picture passes through; what cues set on it goes too, and comes back by undo")
    imgui.same_line()
    imgui.set_next_item_width(150 * panels.scale)
    flags = imgui.InputTextFlags_.enter_returns_true
    entered, name = imgui.input_text_with_hint("##called", "its name", panels.node, flags)
    if entered and name != panels.node and panels.node in names:
        desk.rename_node(panels.node, name)
        panels.node = name if not desk.message else panels.node
    imgui.end_disabled()
    beside(width=imgui.calc_text_size(HINT).x)
    wrapped(HINT, colours.QUIET)


class _Map:
    """One drawing of the chain: where everything lies, and what the hand does there."""

    def __init__(self, desk: Desk, panels: Panels) -> None:
        self.desk, self.panels, self.chain = desk, panels, desk.reel.chain
        self.refs = {ref.name: ref for ref in self.chain.nodes}
        self.nodes = {ref.name: resolve(ref, desk.catalogue) for ref in self.chain.nodes}
        self.gone = {ref.name for ref in missing(self.chain, desk.catalogue)}
        self.used = used(self.chain)
        self.spots = chain_map(self.chain)
        scale, room = panels.scale, imgui.get_content_region_avail()
        columns = max(spot.column for spot in self.spots.values()) + 1
        titles = max(imgui.calc_text_size(self._title(name)).x for name in self.spots)
        least = titles + (BETWEEN + 2 * INSET) * scale
        self.column = max(least, min(COLUMN * scale, room.x / columns))
        self.wide, self.tall = self.column - BETWEEN * scale, TALL * scale
        at = imgui.get_cursor_screen_pos()
        self.left, self.top = at.x + PORT * 2 * scale, at.y + 4 * scale
        self.ends_at = self._find_ends()
        rows = max(spot.row for spot in self.spots.values()) + 1
        imgui.dummy(ImVec2(columns * self.column, rows * ROW * scale))

    def corner(self, spot: Spot) -> Point:
        """Return the top left of the box at a spot."""
        return self.left + spot.column * self.column, self.top + spot.row * ROW * self.panels.scale

    def _find_ends(self) -> dict[End, Point]:
        found: dict[End, Point] = {}
        for name, spot in self.spots.items():
            x, y = self.corner(spot)
            count = self._inputs(name)
            for index in range(count):
                found[name, index] = (x, y + self.tall * (index + 1) / (count + 1))
            if name != CHAIN_OUTPUT:
                found[name, NODE_OUTPUT] = (x + self.wide, y + self.tall / 2)
        return found

    def _inputs(self, name: str) -> int:
        if name in self.refs:
            return max(len(self.refs[name].inputs), len(self.nodes[name].inputs))
        return 1 if name == CHAIN_OUTPUT else 0

    def _is_matte(self, end: End) -> bool:
        name, index = end
        node = self.nodes.get(name)
        if node is None:
            return False
        if index == NODE_OUTPUT:
            return node.signal is Signal.MATTE
        return index < len(node.inputs) and node.inputs[index] in node.mattes

    def wires(self) -> None:
        """Draw every wire."""
        for name, ref in self.refs.items():
            for index, source in enumerate(ref.inputs):
                self._wire((source, NODE_OUTPUT), (name, index))
        self._wire((self.chain.output, NODE_OUTPUT), (CHAIN_OUTPUT, 0))

    def in_hand(self) -> None:
        """Draw the wire that the hand holds, over everything."""
        dragged = self.panels.chain.dragged
        if dragged in self.ends_at:
            mouse = imgui.get_mouse_pos()
            start, stop = self.ends_at[dragged], (mouse.x, mouse.y)
            if dragged[1] != NODE_OUTPUT:
                start, stop = stop, start
            self._line(start, stop, colours.ACCENT, is_matte=self._is_matte(dragged))

    def _wire(self, source: End, reader: End) -> None:
        if source in self.ends_at and reader in self.ends_at:
            is_used = reader[0] == CHAIN_OUTPUT or reader[0] in self.used
            colour = colours.QUIET if is_used else colours.LINE
            self._line(self.ends_at[source], self.ends_at[reader], colour, is_matte=self._is_matte(source))

    def _line(self, start: Point, stop: Point, colour: Colour, *, is_matte: bool) -> None:
        scale, pieces = self.panels.scale, [wire_path(start, stop)]
        if is_matte:
            pieces = dashes(pieces[0], DASH * scale)
        for piece in pieces:
            path(piece, colour, (1.5 if is_matte else 2.0) * scale)

    def boxes(self) -> None:
        """Draw the scan, the nodes and what leaves; a click opens a node."""
        for name, spot in self.spots.items():
            x, y = self.corner(spot)
            inset = 2 * PORT * self.panels.scale
            imgui.set_cursor_screen_pos(ImVec2(x + inset, y))
            imgui.push_id(f"box {name}")
            if imgui.invisible_button("box", ImVec2(self.wide - 2 * inset, self.tall)) and name in self.refs:
                self.panels.node = "" if self.panels.node == name else name
            if name in self.refs and imgui.is_item_hovered():
                imgui.set_item_tooltip(self._tooltip(self.refs[name]))
            imgui.pop_id()
            self._box(name, (x, y))

    def _box(self, name: str, at: Point) -> None:
        (x, y), scale = at, self.panels.scale
        to = (x + self.wide, y + self.tall)
        box(at, to, colours.FIELD)
        if name in self.gone or (name and name == self.panels.node):
            frame(at, to, colours.BRIGHT if name in self.gone else colours.ACCENT)
        is_quiet = name in self.refs and (name not in self.used or not self.desk.is_on(name))
        text_at(
            x + INSET * scale, y + 3 * scale, self._title(name), colours.QUIET if is_quiet else colours.TEXT
        )
        note = begun(self._note(name), self.wide - 2 * INSET * scale)
        text_at(x + INSET * scale, y + 23 * scale, note, colours.QUIET)

    def _title(self, name: str) -> str:
        return name.replace("_", " ") or "output"

    def _note(self, name: str) -> str:
        """Return the box's second line: what a person could not know from its name."""
        ref = self.refs.get(name)
        if ref is None:
            return self.desk.reel.scan.colour.words if name == SCAN else ""
        if name in self.gone:
            return "missing"
        if not self.desk.is_on(name):
            return "off"
        if name not in self.used:
            return "unused"
        if self._is_matte((name, NODE_OUTPUT)):
            return "a matte"
        return "" if ref.kind == ref.name else ref.kind

    def _tooltip(self, ref: NodeRef) -> str:
        if ref.name in self.gone:
            return f"It passes its picture on, for {self.desk.catalogue.reason(ref.kind)}."
        node = self.nodes[ref.name]
        inputs = ", ".join(f"{i} (a matte)" if i in node.mattes else i for i in node.inputs)
        return f"{node.sentence}\nInputs: {inputs}" if len(node.inputs) > 1 else node.sentence

    def end_text(self, end: End) -> str:
        """Return what goes through an end, in words."""
        what = "a matte" if self._is_matte(end) else "a picture"
        name, index = end
        if index == NODE_OUTPUT:
            return f"Output: {what}"
        called = self.nodes[name].inputs[index : index + 1] if name in self.nodes else ()
        return "Input" + "".join(f" {word}" for word in called if self._inputs(name) > 1) + f": {what}"

    def ends(self) -> None:
        """Draw the ends of wires; one that is dragged to another makes a wire."""
        scale, draw = self.panels.scale, imgui.get_window_draw_list()
        for end, (x, y) in self.ends_at.items():
            imgui.set_cursor_screen_pos(ImVec2(x - 2 * PORT * scale, y - 1.5 * PORT * scale))
            imgui.invisible_button(f"end {end}", ImVec2(4 * PORT * scale, 3 * PORT * scale))
            is_near = imgui.is_item_hovered() or end == self.panels.chain.dragged
            colour = look.code(colours.ACCENT if is_near else colours.TEXT)
            draw.add_circle_filled(ImVec2(x, y), PORT * scale, colour)
            imgui.set_item_tooltip(self.end_text(end))
            if imgui.is_item_activated():
                self.panels.chain.dragged = end
            if imgui.is_item_deactivated():
                self._dropped(end)

    def _dropped(self, dragged: End) -> None:
        self.panels.chain.dragged = None
        mouse = imgui.get_mouse_pos()
        found = self._meant(dragged, (mouse.x, mouse.y))
        if found is None:
            return
        source, reader = (dragged, found) if dragged[1] == NODE_OUTPUT else (found, dragged)
        if reader[0] == CHAIN_OUTPUT:
            self.desk.rewire(lambda chain, catalogue: with_output(chain, catalogue, source[0]))
        else:
            self.desk.rewire(lambda chain, catalogue: with_wire(chain, catalogue, *reader, source[0]))

    def _meant(self, dragged: End, at: Point) -> End | None:
        """Return the end of the other kind that lies nearest, or, in a box, the only one that it has."""
        gives = dragged[1] == NODE_OUTPUT
        others = {end: at for end, at in self.ends_at.items() if (end[1] == NODE_OUTPUT) != gives}
        near = min(others, key=lambda end: hypot(others[end][0] - at[0], others[end][1] - at[1]))
        away = hypot(others[near][0] - at[0], others[near][1] - at[1])
        if away < NEAR * self.panels.scale:
            return near
        for name, spot in self.spots.items():
            x, y = self.corner(spot)
            inside = x <= at[0] <= x + self.wide and y <= at[1] <= y + self.tall
            ends = [end for end in others if end[0] == name]
            if inside and len(ends) == 1 and name != dragged[0]:
                return ends[0]
        return None


def wire_path(start: Point, stop: Point) -> list[Point]:
    """Return a wire as points a few pixels apart: it leaves and arrives level."""
    (ax, ay), (bx, by) = start, stop
    pull = max(20.0, abs(bx - ax) / 2)
    t = np.linspace(0.0, 1.0, 2 + ceil(hypot(bx - ax, by - ay) / 3))
    first, second, third, last = (1 - t) ** 3, 3 * (1 - t) ** 2 * t, 3 * (1 - t) * t**2, t**3
    x = first * ax + second * (ax + pull) + third * (bx - pull) + last * bx
    y = (first + second) * ay + (third + last) * by
    return list(zip(x.tolist(), y.tolist(), strict=True))


def dashes(points: list[Point], length: float) -> list[list[Point]]:
    """Return dashes and gaps of one length along a path; the last dash may be shorter."""
    x, y = np.array(points).T
    along = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))])
    pieces = []
    for start in np.arange(0.0, along[-1], 2 * length):
        at = np.linspace(start, min(start + length, along[-1]), 4)
        pieces.append(list(zip(np.interp(at, along, x), np.interp(at, along, y), strict=True)))
    return pieces
