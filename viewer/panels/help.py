"""The help page: every key, from the table that the keys themselves are read from, and what a mouse does."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from imgui_bundle import ImVec2, ImVec4, imgui

from lamphouse.viewer import look
from lamphouse.viewer.keys import KEYS
from lamphouse.viewer.screen import Screen

KEY: Final = 110.0
WHERE: Final = 170.0
GESTURES: Final = (
    ("Picture, wheel", "Zoom about the pointer; a double click fits the picture in."),
    ("Picture, drag", "Move it where it is larger than its place, or the edge of the wipe."),
    ("Wipe, ring on its edge", "Drag it to turn the edge; a double click puts it upright."),
    ("Picture, right drag", "The scopes count this part alone; a right click takes all again."),
    ("Strip, click or drag", "Go there."),
    ("Strip, wheel", "Zoom from the reel to single frames; with Shift along the reel."),
    ("Strip, a cue's name", "Drag it to move the cue, with Control a copy of it; a click goes there."),
    ("Strip, a ramp's foot", "Drag it for the length of the ramp; out of a cut's line a ramp is made."),
    ("Strip, any drag", "Goes to a cue or a mark that it comes near; with Alt it goes freely."),
    ("Easing", "Drag a point, click for a new one, right click to take one out."),
    ("Pad", "Push the balance toward a bar; finely with Shift; a double click is neutral."),
    ("Slider", "Drag, finely with Shift; Control and a click to type."),
    ("Curve", "Drag a point, click for a new one, right click to take one out."),
    ("Chain", "Drag a wire by either end; click a node to open it."),
)


def help_page(screen: Screen) -> None:
    """Draw the page over the middle of the window."""
    middle = imgui.get_io().display_size
    imgui.set_next_window_pos(ImVec2(middle.x / 2, middle.y / 2), imgui.Cond_.always, ImVec2(0.5, 0.5))
    flags = imgui.WindowFlags_.always_auto_resize | imgui.WindowFlags_.no_collapse
    shown, still = imgui.begin("keys and mouse", True, flags)
    if shown:
        imgui.begin_group()
        _rows(screen, KEY, ((key.label, key.sentence) for key in KEYS))
        imgui.end_group()
        imgui.same_line(0, 4 * look.GAP * screen.scale)
        imgui.begin_group()
        _rows(screen, WHERE, GESTURES)
        imgui.end_group()
    imgui.end()
    screen.helps = bool(still)


def _rows(screen: Screen, width: float, rows: Iterable[tuple[str, str]]) -> None:
    for what, does in rows:
        imgui.text(what)
        imgui.same_line(width * screen.scale)  # from where the group begins
        imgui.text_colored(ImVec4(*look.QUIET), does)
