"""How long the reel is and how much of it is left, for the transport."""

from __future__ import annotations

from imgui_bundle import ImVec4, imgui

from lamphouse.viewer import colours
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.lengths import left_text, length_text
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.seen import Seen


def lengths(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Write both in a line, in timecode and in frames."""
    imgui.text_colored(ImVec4(*colours.QUIET), f"of {length_text(desk)};  {left_text(desk, seen.now)}")
    imgui.set_item_tooltip("The length of the reel, and what is left after the frame that is seen")
