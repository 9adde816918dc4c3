"""A finished master: which, what is done with it, and what was found in it."""

from __future__ import annotations

from typing import Final

from imgui_bundle import ImVec2, imgui

from lamphouse.graph.check.findings import Weight
from lamphouse.viewer import colours
from lamphouse.viewer.jobs.said import Line
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.found import go_to, last_place, lists_what_it_finds
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.panels.record.course import after
from lamphouse.viewer.panels.record.inserts import chosen_master
from lamphouse.viewer.panels.record.words import FAULT, say

HEADINGS: Final[tuple[tuple[Weight, str, colours.Colour], ...]] = (
    ("fault", "faults", FAULT),
    ("caution", "to be looked at", colours.BRIGHT),
    ("note", "to be known", colours.QUIET),
)


def finished(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Draw which master it is and what is done with it."""
    chosen_master(desk, panels, seen)
    if panels.recording.master is not None:
        after(desk, panels, seen)


def findings(desk: Desk, panels: Panels, seen: Seen) -> None:
    """List what the last check or proof has found, and take the one whose frame is to be seen."""
    job = panels.recording.job
    ended = job.ended if lists_what_it_finds(job) and job is not None else None
    if ended is None or ended.outcome is None:
        say("What a check or a proof finds is listed here.", colours.QUIET)
        return
    for weight, heading, colour in HEADINGS:
        lines = [line for line in ended.outcome.lines if line.weight == weight]
        if lines:
            imgui.spacing()
            say(heading, colour)
        for number, line in enumerate(lines):
            _line(desk, panels, seen, line, f"{weight} {number}")


def _line(desk: Desk, panels: Panels, seen: Seen, line: Line, name: str) -> None:
    """Write something found; where it has a frame, a click goes there."""
    if line.number is None:
        say(line.text)
        return
    at, wide = imgui.get_cursor_pos(), imgui.get_content_region_avail().x
    tall = imgui.calc_text_size(line.text, wrap_width=wide).y
    is_last = line == last_place(panels.recording)
    is_pressed, _ = imgui.selectable(f"##{name}", is_last, 0, ImVec2(wide, tall))
    imgui.set_item_tooltip("See that frame; Return or a click")
    imgui.set_cursor_pos(at)
    say(line.text)
    if is_pressed and go_to(desk, panels.recording, line, seen.now):
        panels.page = "grade"
