"""The help page: every command with its key, which can be changed here, and what a mouse does."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from imgui_bundle import ImVec2, ImVec4, imgui

from lamphouse.viewer import colours
from lamphouse.viewer.models.commands.command import Command
from lamphouse.viewer.models.commands.table import SUBJECTS
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.panels import look
from lamphouse.viewer.panels.flow import wrapped
from lamphouse.viewer.panels.focus import focus_here

TITLE: Final = "keys and mouse"
WIDTH: Final = 720.0
KEY: Final = 190.0
MARGIN: Final = 24.0  # of the window around the page
HANDING: Final = (
    ("Tab", "Gives the keyboard to the panels: a ring shows where it is."),
    ("Arrows, Tab", "Move the ring while the panels have the keyboard."),
    ("Space, Return", "Press what is in the ring; Return types into a slider, and goes into a list."),
    ("Escape, or a click", "Gives the keyboard back to the film; first ends a list or a page."),
)
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
    ("Strip, a hollow shape", "A proposal of the survey: rest on it to preview it, click to choose it."),
    ("Survey, a row", "Rest on it to preview it, click to choose it."),
    ("Pad", "Push toward a bar; a double click makes it neutral, the wheel turns its master."),
    ("Pad and number, drag", "Finely with Shift, coarsely with Control."),
    ("Number", "Drag it, or click and type; Tab goes on to the next."),
    ("Curve, easing", "Drag a point, click for one more, right click takes it out."),
    ("Chain", "Drag a wire by either end; click a node to open it."),
    ("Master, its file", "Drop it on the window to compare the picture with it."),
    ("Reel, its file", "Drop it on the window to open it in place of this one."),
)


def help_page(panels: Panels) -> None:
    """Draw the page over the middle of the window: searched by what is typed, no higher than the window."""
    window, scale = imgui.get_io().display_size, panels.scale
    imgui.set_next_window_pos(ImVec2(window.x / 2, window.y / 2), imgui.Cond_.always, ImVec2(0.5, 0.5))
    margin = 2 * MARGIN * scale
    imgui.set_next_window_size(ImVec2(min(WIDTH * scale, window.x - margin), window.y - margin))
    shown, still = imgui.begin(TITLE, True, imgui.WindowFlags_.no_collapse | imgui.WindowFlags_.no_resize)
    if shown:
        _top(panels)
        imgui.begin_child("lines", ImVec2(0, 0), imgui.ChildFlags_.nav_flattened)
        for subject, commands in SUBJECTS:
            _lines(panels, subject, commands)
        _rows(panels, "keyboard", HANDING)
        _rows(panels, "mouse", GESTURES)
        imgui.end_child()
    imgui.end()
    if not still:
        panels.helps = False
        panels.focus.take_back()


def _top(panels: Panels) -> None:
    """Draw what the page is searched by, and what it waits for or answers: a line in any case."""
    page = panels.key_page
    if imgui.is_window_appearing():
        panels.focus.give("help")
        page.changing = page.message = ""
    focus_here(panels, "help")
    imgui.set_next_item_width(280 * panels.scale)
    _, page.searched = imgui.input_text_with_hint("##search", "search", page.searched)
    imgui.same_line()
    imgui.begin_disabled(not panels.keys.are_own)
    if imgui.button("all keys as they came"):
        page.do(panels.keys.back, panels.keys)
    imgui.end_disabled()
    if page.changing:
        text = f"Press the new key of {_words(page.changing)}; Escape leaves it as it is."
    else:
        text = page.message or "Click on a line, or choose it and press Return, to give it another key."
    colour = colours.BRIGHT if page.changing or page.message else colours.QUIET
    imgui.text_colored(ImVec4(*colour), text)
    imgui.separator()


def _lines(panels: Panels, subject: str, commands: Iterable[Command]) -> None:
    found = [c for c in commands if _is_sought(panels, subject, panels.keys.label(c.name), c.sentence)]
    if found:
        _heading(subject)
    for command in found:
        _line(panels, command)


def _line(panels: Panels, command: Command) -> None:
    """Draw a command's key and what it does; chosen, it waits for another key."""
    keys, page = panels.keys, panels.key_page
    label = "press a key" if page.changing == command.name else keys.label(command.name) or "no key"
    room = imgui.get_content_region_avail().x
    button = 70 * panels.scale
    size = ImVec2(room - button if keys.is_own(command.name) else room, 0)
    if imgui.selectable(f"{label}##{command.name}", page.changing == command.name, 0, size)[0]:
        page.begin(command.name)
    imgui.same_line(KEY * panels.scale)
    wrapped(command.sentence, colours.QUIET)
    if keys.is_own(command.name):
        imgui.same_line(room - button + look.GAP)
        if imgui.small_button(f"default##{command.name}"):
            page.do(lambda: keys.back(command.name), keys)


def _rows(panels: Panels, subject: str, rows: Iterable[tuple[str, str]]) -> None:
    found = [row for row in rows if _is_sought(panels, subject, *row)]
    if found:
        _heading(subject)
    for what, does in found:
        imgui.text(what)
        imgui.same_line(KEY * panels.scale)
        wrapped(does, colours.QUIET)


def _heading(words: str) -> None:
    imgui.dummy(ImVec2(0, look.GAP / 2))
    imgui.text_colored(ImVec4(*colours.ACCENT), words)


def _is_sought(panels: Panels, *words: str) -> bool:
    text = " ".join(words).casefold()
    return all(part in text for part in panels.key_page.searched.casefold().split())


def _words(name: str) -> str:
    return name.replace("_", " ")
