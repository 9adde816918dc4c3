"""A list that comes in: what the reel takes of it, by which times, and the button that takes it."""

from __future__ import annotations

from typing import Final

from imgui_bundle import ImVec2, imgui

from lamphouse.graph.edits.arrivals import By, Taken
from lamphouse.nodes.one_line import one_line
from lamphouse.viewer import colours
from lamphouse.viewer.models.arriving_list import ArrivingList, lines_of, take_arriving
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.panels import look
from lamphouse.viewer.panels.flow import beside, wrapped

TALL: Final = 34.0
SOURCE: Final = 300.0
TIMES: Final[tuple[tuple[By, str], ...]] = (("record", "by record times"), ("source", "by source times"))


def arriving_list(arriving: ArrivingList, desk: Desk, scale: float) -> bool:
    """Draw it; return whether another list is wanted."""
    if desk.message:
        wrapped(desk.message, colours.BRIGHT)
    if arriving.arrived.shots and arriving.taken is None:
        _times(arriving, scale)
    found = arriving.would_take(desk)
    taken, left = lines_of(found)
    foot = TALL * scale + 2 * imgui.get_style().item_spacing.y
    imgui.begin_child("brought", ImVec2(0, -foot), imgui.ChildFlags_.nav_flattened)
    wrapped("Taken, in one step to undo:" if arriving.taken else "It would bring:", colours.QUIET)
    for line in taken:
        wrapped(line, colours.TEXT)
    imgui.dummy(ImVec2(0, look.GAP * scale))
    for line in left:
        wrapped(line, colours.QUIET)
    imgui.end_child()
    return _buttons(arriving, desk, scale, can=isinstance(found, Taken) and found.is_any)


def _times(arriving: ArrivingList, scale: float) -> None:
    for by, label in TIMES:
        if imgui.radio_button(label, arriving.by == by):
            arriving.by = by
        imgui.same_line()
    imgui.new_line()
    if arriving.by == "record" or len(arriving.sources) < 2:
        return
    own = "of the scan" if arriving.names_scan else "choose the scan"
    imgui.set_next_item_width(SOURCE * scale)
    if imgui.begin_combo("##source", own if arriving.source is None else _called(arriving.source)):
        for source in arriving.sources:
            if imgui.selectable(f"{_called(source)}##{source}", source == arriving.source)[0]:
                arriving.source = source
        imgui.end_combo()


def _called(source: str) -> str:
    return one_line(source) or "without a name"


def _buttons(arriving: ArrivingList, desk: Desk, scale: float, *, can: bool) -> bool:
    tall = TALL * scale
    if arriving.taken is None:
        imgui.begin_disabled(not can)
        if imgui.button("take it", ImVec2(0, tall)):
            take_arriving(arriving, desk)
        imgui.end_disabled()
        imgui.set_item_tooltip("Cues, CDLs and marks of the list become the reel's; what stands is kept")
        beside("another list")
    return bool(imgui.button("another list", ImVec2(0, tall)))
