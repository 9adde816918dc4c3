"""How the picture is seen, and what it is compared with: chosen over the picture."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from imgui_bundle import ImVec4, imgui

from lamphouse.graph.edits.cues import cue_at
from lamphouse.graph.media.codes.framing import framing_of
from lamphouse.viewer import colours
from lamphouse.viewer.models.comparison import (
    COPIED,
    GRADED,
    MASTER,
    OTHER,
    SCANNED,
    SIDE,
    STILL,
    UNTAKEN,
    WIPE,
)
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.seen import FULL, OtherPicture, Seen
from lamphouse.viewer.panels.flow import beside, radio_width

LIST: Final = 196.0


def compare(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Draw the ways to see the picture, and the list of what it is compared with."""
    comparison = desk.comparison
    for label, way in ((GRADED, GRADED), (comparison.kind, OTHER), (WIPE, WIPE), (SIDE, SIDE)):
        beside(width=radio_width(label))
        if imgui.radio_button(f"{label}##{way}", comparison.way == way):
            comparison.way = way
    beside(width=LIST * panels.scale)
    _list(desk, panels, seen)
    beside("store still")
    imgui.begin_disabled(seen.graded is None or seen.is_late)
    if imgui.button("store still") and seen.graded is not None:
        framing = framing_of(desk.settings)
        panels.still = OtherPicture(seen.graded.copy(), FULL, framing=framing)
        comparison.kind = STILL
    imgui.end_disabled()
    imgui.set_item_tooltip("Store the picture as it is now, to compare others with it")


def _list(desk: Desk, panels: Panels, seen: Seen) -> None:
    comparison = desk.comparison
    copied = comparison.copied
    there = {
        SCANNED: True,
        UNTAKEN: desk.is_previewing or comparison.kind == UNTAKEN,
        COPIED: copied is not None and cue_at(desk.reel, copied) is not None,
        STILL: panels.still is not None,
        MASTER: comparison.master is not None,
    }
    imgui.set_next_item_width(LIST * panels.scale)
    if imgui.begin_combo("##compare", f"compare with: {comparison.kind}", imgui.ComboFlags_.no_arrow_button):
        for name in (name for name, is_there in there.items() if is_there):
            shown = f"{MASTER}: {comparison.master.name}" if name == MASTER and comparison.master else name
            if imgui.selectable(f"{shown}##{name}", comparison.kind == name)[0]:
                comparison.kind = name
        _typed(desk, panels)
        imgui.end_combo()
    imgui.set_item_tooltip(
        f"What is seen beyond the wipe, or by {panels.keys.label('compare') or 'its command'}; "
        "copy a cue, store a still or drop a master for more"
    )


def _typed(desk: Desk, panels: Panels) -> None:
    """Take the path of a master; one that is not whole begins at the folder of the reel."""
    imgui.separator()
    imgui.text_colored(ImVec4(*colours.QUIET), "a finished master: its file or folder")
    imgui.set_next_item_width(380 * panels.scale)
    imgui.push_style_color(imgui.Col_.frame_bg, ImVec4(*colours.SURROUND))  # a list is as grey as a field is
    entered, panels.master = imgui.input_text_with_hint(
        "##master", "type its path, Return", panels.master, imgui.InputTextFlags_.enter_returns_true
    )
    imgui.pop_style_color()
    if entered and panels.master.strip():
        path = Path(panels.master.strip().strip("\"'")).expanduser()
        desk.comparison.choose_master(desk.reel_file.parent / path)
        panels.master = ""
        imgui.close_current_popup()
