"""Sentences of the record page: wrapped, and in red where something is wrong."""

from __future__ import annotations

from imgui_bundle import ImVec4, imgui

from lamphouse.viewer import colours
from lamphouse.viewer.colours import Colour

FAULT = colours.CHANNELS[0]


def say(text: str, colour: Colour = colours.TEXT) -> None:
    """Write a sentence in as many lines as it takes."""
    imgui.push_text_wrap_pos(0)
    imgui.text_colored(ImVec4(*colour), text)
    imgui.pop_text_wrap_pos()


def row(name: str, text: str, at: float) -> None:
    """Write a name, and beside it at a place what belongs to it."""
    imgui.text_colored(ImVec4(*colours.QUIET), name)
    imgui.same_line(at)
    say(text)


def clock(seconds: int) -> str:
    """Return a time as hours, minutes and seconds."""
    return f"{seconds // 3600}:{seconds // 60 % 60:02}:{seconds % 60:02}"


def size(count: int) -> str:
    """Return bytes as people read them, of powers of ten."""
    for unit, name in ((10**12, "TB"), (10**9, "GB"), (10**6, "MB")):
        if count >= unit:
            return f"{count / unit:.1f} {name}"
    return f"{count / 1000:.0f} kB"
