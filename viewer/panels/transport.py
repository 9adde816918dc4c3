"""Where the reel stands, in all three readings, and how it moves. A place is typed where it is read."""

from __future__ import annotations

from typing import Final

from imgui_bundle import ImVec2, ImVec4, imgui

from lamphouse.graph.time.rate import rate_words
from lamphouse.viewer import colours
from lamphouse.viewer.models.commands.table import BY_NAME, run
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.hearing import SOUNDING
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.panels import look
from lamphouse.viewer.panels.buttons import command_button
from lamphouse.viewer.panels.draw import text_at
from lamphouse.viewer.panels.focus import focus_here
from lamphouse.viewer.panels.lengths import lengths
from lamphouse.viewer.panels.sync import sync


def transport(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Draw the counters and the buttons."""
    now = seen.now
    readings = desk.readings()
    imgui.push_font(imgui.get_font(), look.LARGE)
    imgui.set_next_item_width(150 * panels.scale)
    shown = panels.typed_place or readings.timecode
    flags = imgui.InputTextFlags_.enter_returns_true | imgui.InputTextFlags_.auto_select_all
    entered, typed = imgui.input_text("##place", shown, flags)
    if imgui.is_item_active():
        panels.typed_place = typed
    elif not entered:
        panels.typed_place = ""
    if entered:
        desk.go_to_typed(typed, now)
        panels.typed_place = ""
    imgui.pop_font()
    imgui.same_line()
    imgui.begin_group()
    imgui.text(readings.footage)
    imgui.text_colored(ImVec4(*colours.QUIET), f"frame {readings.frame}")
    imgui.end_group()
    imgui.same_line(0, 18 * panels.scale)
    imgui.begin_group()
    imgui.push_style_var(imgui.StyleVar_.item_spacing, ImVec2(0, 0))
    _buttons(desk, panels, seen)
    end = imgui.get_item_rect_max()
    lengths(desk, panels, seen)
    imgui.pop_style_var()
    imgui.same_line(0, 18 * panels.scale)
    colour = colours.CHANNELS[0] if seen.is_short else colours.QUIET
    at_work = "; ".join(filter(None, (seen.matched, seen.copied, seen.surveyed)))
    imgui.text_colored(ImVec4(*colour), _speed(desk, seen) or at_work)
    below = imgui.get_item_rect_max()
    if missed := desk.transport.unseen(now):
        imgui.set_item_tooltip(f"{missed} pictures were not seen in their time since the film began to run.")
    imgui.end_group()
    _on_the_right(desk, panels, end, below)


def _on_the_right(desk: Desk, panels: Panels, end: ImVec2, below: ImVec2) -> None:
    """Write which reel this is, and whether it is saved, where the buttons or the line below leave room."""
    right, unsaved = imgui.get_window_size().x - 10 * panels.scale, "" if desk.is_saved else "not saved"
    name = ", ".join(filter(None, (desk.reel_file.name, unsaved)))
    top = imgui.get_item_rect_min().y + 4 * panels.scale
    for text, taken, y in ((name, end.x, top), (name, below.x, end.y), (unsaved, end.x, top)):
        left = right - imgui.calc_text_size(text).x
        if left > taken + 8 * panels.scale:
            text_at(left, y, text)
            return


BUTTONS: Final = (
    ("start", "first_frame"),
    ("< cue", "previous_cue"),
    ("-1", "step_back"),
    ("<<", "shuttle_back"),
    ("stop", "stop"),
    ("play", "play"),
    (">>", "shuttle_on"),
    ("+1", "step_on"),
    ("cue >", "next_cue"),
    ("end", "last_frame"),
)


def _buttons(desk: Desk, panels: Panels, seen: Seen) -> None:
    height, gap = 26 * panels.scale, 4 * panels.scale
    focus_here(panels)
    for label, name in BUTTONS:
        command_button(name, label, desk, panels, seen, height=height)
        imgui.same_line(0, gap)
    command_button("cue_on_run", "cue", desk, panels, seen, height=height)
    imgui.same_line(0, gap)
    label = "loop" if desk.transport.loop is None else "no loop"
    command_button("loop", label, desk, panels, seen, height=height)
    imgui.same_line(0, gap)
    _sound(desk, panels, seen, ImVec2(84 * panels.scale, height))
    imgui.same_line(0, gap)
    sync(desk, panels, seen, height)


def _sound(desk: Desk, panels: Panels, seen: Seen, size: ImVec2) -> None:
    """Mute the sound; where none is heard, say why in a word, and in a sentence when asked."""
    sounds = seen.heard.word == SOUNDING
    imgui.push_style_color(imgui.Col_.text, ImVec4(*(colours.TEXT if sounds else colours.QUIET)))
    if imgui.button(f"{seen.heard.word}##sound", size):
        run(BY_NAME["sound"], desk, panels, seen.now)
    imgui.pop_style_color()
    tip = BY_NAME["sound"].tip(panels.keys)
    imgui.set_item_tooltip(f"{seen.heard.reason} {tip}.".strip() if seen.heard.reason else tip)


def _speed(desk: Desk, seen: Seen) -> str:
    """Return how the film runs, and how many pictures of it are seen where some are missed."""
    transport = desk.transport
    if not transport.is_moving(seen.now):
        return ""
    text = f"{float(transport.speed):+g} x {rate_words(transport.rate)} fps"
    if seen.is_short and seen.a_second is not None:
        return f"{text}: {seen.a_second:.0f} of {float(transport.wanted):.3g} a second are seen"
    return text
