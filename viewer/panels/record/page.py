"""The record page: what is asked for at the left, what is seen of it at the right, the caution below."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from imgui_bundle import ImVec2, ImVec4, imgui

from lamphouse.graph.check.check import GUIDANCE
from lamphouse.graph.transfer.notes import CAUTION
from lamphouse.viewer import colours
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.recording import Side, take_file
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.panels import look
from lamphouse.viewer.panels.browser import browser
from lamphouse.viewer.panels.buttons import command_button
from lamphouse.viewer.panels.draw import fitted
from lamphouse.viewer.panels.record.choices import choices
from lamphouse.viewer.panels.record.course import course
from lamphouse.viewer.panels.record.finished import findings, finished
from lamphouse.viewer.panels.record.inserts import inserts, joins
from lamphouse.viewer.panels.record.monitor import monitor
from lamphouse.viewer.panels.record.raster import raster
from lamphouse.viewer.panels.record.words import say

SIDE: Final = 404.0
SIDES: Final[tuple[tuple[str, Side], ...]] = (
    ("a whole pass", "pass"),
    ("an insert", "insert"),
    ("a finished master", "finished"),
)
CHOICES: Final[Mapping[Side, Callable[[Desk, Panels, Seen], None]]] = {
    "pass": choices,
    "insert": inserts,
    "finished": finished,
}


def record(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Draw the page and take what is done on it."""
    recording, scale = panels.recording, panels.scale
    _bar(desk, panels, seen)
    room = imgui.get_content_region_avail()
    said = "\n".join(desk.troubles.lines)
    foot = imgui.get_text_line_height_with_spacing()
    if said:
        foot += imgui.calc_text_size(said, wrap_width=room.x).y + imgui.get_style().item_spacing.y
    imgui.begin_child("asked", ImVec2(SIDE * scale, room.y - foot), imgui.ChildFlags_.nav_flattened)
    if recording.job is not None:
        course(desk, panels, seen)
        imgui.separator()
    if not recording.is_at_work:
        CHOICES[recording.side](desk, panels, seen)
    imgui.end_child()
    imgui.same_line()
    imgui.begin_child("seen of it", ImVec2(0, room.y - foot), imgui.ChildFlags_.nav_flattened)
    wide, high = imgui.get_content_region_avail()
    if recording.browser is not None and not recording.is_at_work:
        if (taken := browser(recording.browser, scale, high)) is not None:
            take_file(desk, recording, taken)
    elif recording.side == "insert" and not recording.is_at_work:
        joins(desk, panels, seen, wide, high)
    elif _shows_pictures(panels):
        monitor(panels, seen, wide, high - look.GAP * scale)
    elif recording.side == "finished":
        findings(desk, panels, seen)
    else:
        raster(desk, panels, seen, wide, high)
    imgui.end_child()
    if said:
        say(said, colours.BRIGHT)
    imgui.text_colored(ImVec4(*colours.QUIET), GUIDANCE if _is_checked(panels) else CAUTION)


def _bar(desk: Desk, panels: Panels, seen: Seen) -> None:
    recording = panels.recording
    command_button("record_page", "back to the grade", desk, panels, seen)
    imgui.same_line(0, 18 * panels.scale)
    for label, side in SIDES:
        imgui.begin_disabled(recording.is_at_work)
        if imgui.radio_button(label, recording.side == side):
            recording.side = side
        imgui.end_disabled()
        imgui.same_line()
    stale = recording.stale
    if stale is not None and stale.master is not None:
        known = stale.sentence or "what is stale is not known: see an insert."
        room = imgui.get_content_region_avail().x - imgui.calc_text_size(f": {known}").x
        imgui.text_colored(ImVec4(*colours.QUIET), f"{fitted(stale.master.name, room)}: {known}")
    else:
        imgui.new_line()


def _is_checked(panels: Panels) -> bool:
    job = panels.recording.job
    return panels.recording.side == "finished" and job is not None and job.what == "check"


def _shows_pictures(panels: Panels) -> bool:
    job = panels.recording.job
    return job is not None and job.what in ("pass", "insert") and (job.ended is None or job.pair is not None)
