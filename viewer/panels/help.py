"""The help page: every key, from the table that the keys themselves are read from, and what a mouse does."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from imgui_bundle import ImVec2, ImVec4, imgui

from lamphouse.viewer import colours
from lamphouse.viewer.models.commands.table import COMMANDS
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.panels import look

KEY: Final = 110.0
WHERE: Final = 170.0
COLUMN: Final = 26  # lines
GESTURES: Final = (
    ("Picture, wheel", "Zoom about the pointer; a double click fits it in."),
    ("Picture, drag", "Move it where it is larger than its place, or the wipe."),
    ("Picture, drag with Alt", "Move the film in the frame; it is a setting of the cue."),
    ("Picture, right drag", "The scopes count this part; a right click: all again."),
    ("Wipe, its ring", "Turn the edge; a double click puts it upright."),
    ("Strip", "Click or drag to go there; the wheel zooms, with Shift along."),
    ("Strip, a cue's name", "Drag the cue, with Control a copy; a click goes there."),
    ("Strip, a ramp's foot", "Drag its length; out of a cut's line comes a ramp."),
    ("Strip, any drag", "Snaps to cues and marks; with Alt it goes freely."),
    ("Pad", "Push toward a bar, finely with Shift; double click: neutral."),
    ("Slider", "Drag, finely with Shift; Control and a click to type."),
    ("Curve, easing", "Drag a point, click for one more, right click takes it out."),
    ("Chain", "Drag a wire by either end; click a node to open it."),
    ("Master, its file", "Drop it on the window to compare the picture with it."),
)


def help_page(panels: Panels) -> None:
    """Draw the page over the middle of the window, in two columns."""
    middle = imgui.get_io().display_size
    imgui.set_next_window_pos(ImVec2(middle.x / 2, middle.y / 2), imgui.Cond_.always, ImVec2(0.5, 0.5))
    flags = imgui.WindowFlags_.always_auto_resize | imgui.WindowFlags_.no_collapse
    shown, still = imgui.begin("keys and mouse", True, flags)
    if shown:
        keys = [(command.label, command.sentence) for command in COMMANDS]
        imgui.begin_group()
        _rows(panels, KEY, keys[:COLUMN])
        imgui.end_group()
        imgui.same_line(0, 4 * look.GAP * panels.scale)
        imgui.begin_group()
        _rows(panels, WHERE, (*keys[COLUMN:], ("", ""), *GESTURES))
        imgui.end_group()
    imgui.end()
    panels.helps = bool(still)


def _rows(panels: Panels, width: float, rows: Iterable[tuple[str, str]]) -> None:
    for what, does in rows:
        imgui.text(what)
        imgui.same_line(width * panels.scale)  # from where the group begins
        imgui.text_colored(ImVec4(*colours.QUIET), does)
