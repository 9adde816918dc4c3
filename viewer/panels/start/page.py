"""The whole start page: which reel to work on."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from imgui_bundle import ImVec2, ImVec4, imgui

from lamphouse.viewer import colours
from lamphouse.viewer.models.starting import Starting
from lamphouse.viewer.panels import look

PLAIN: Final = (
    imgui.WindowFlags_.no_decoration
    | imgui.WindowFlags_.no_background
    | imgui.WindowFlags_.no_move
    | imgui.WindowFlags_.no_bring_to_front_on_focus
)
TYPED: Final = 520.0


def start_page(starting: Starting, scale: float) -> None:
    """Draw the page, and take what was done to it."""
    imgui.set_next_window_pos(ImVec2(0, 0))
    imgui.set_next_window_size(imgui.get_io().display_size)
    imgui.begin("start", None, PLAIN)
    if starting.current is not None:
        if imgui.button(f"back to {starting.current.file.name}"):
            starting.go_back()
        imgui.set_item_tooltip("Back to the reel at work (F6)")
    _open(starting, scale)
    _lately(starting)
    if starting.message:
        imgui.text_wrapped(starting.message)
    imgui.end()


def _open(starting: Starting, scale: float) -> None:
    imgui.set_next_item_width(TYPED * scale)
    entered, starting.typed = imgui.input_text_with_hint(
        "##path", "the file of a reel", starting.typed, imgui.InputTextFlags_.enter_returns_true
    )
    imgui.same_line()
    if imgui.button("open") or entered:
        starting.take_typed()


def _lately(starting: Starting) -> None:
    imgui.text_colored(ImVec4(*colours.QUIET), "opened lately")
    for reel in starting.lately.reels:
        path = Path(reel)
        imgui.begin_disabled(not path.exists())
        if imgui.selectable(f"{path.name}##{reel}", False)[0]:
            starting.take(path)
        imgui.end_disabled()
        imgui.same_line(0, 3 * look.GAP)
        imgui.text_colored(
            ImVec4(*colours.QUIET), str(path.parent) + ("" if path.exists() else ", not there")
        )
