"""Where the reel stands, in all three readings, and how it moves. A place is typed where it is read."""

from __future__ import annotations

from collections.abc import Callable

from imgui_bundle import ImVec2, ImVec4, imgui

from lamphouse.viewer import colours
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.marks import loop_about
from lamphouse.viewer.models.screen import Screen
from lamphouse.viewer.panels import look
from lamphouse.viewer.panels.draw import text_at

MARGIN = 24  # frames before and after what a loop shows


def transport(desk: Desk, screen: Screen) -> None:
    """Draw the counters and the buttons."""
    now = screen.now
    readings = desk.readings()
    imgui.push_font(imgui.get_font(), look.LARGE)
    imgui.set_next_item_width(150 * screen.scale)
    shown = screen.place or readings.timecode
    flags = imgui.InputTextFlags_.enter_returns_true | imgui.InputTextFlags_.auto_select_all
    entered, typed = imgui.input_text("##place", shown, flags)
    if imgui.is_item_active():
        screen.place = typed
    elif not entered:
        screen.place = ""
    if entered:
        desk.go_to_typed(typed, now)
        screen.place = ""
    imgui.pop_font()
    imgui.same_line()
    imgui.begin_group()
    imgui.text(readings.footage)
    imgui.text_colored(ImVec4(*colours.QUIET), f"frame {readings.frame}")
    imgui.end_group()
    imgui.same_line(0, 18 * screen.scale)
    _buttons(desk, screen)
    imgui.same_line(0, 18 * screen.scale)
    imgui.align_text_to_frame_padding()
    imgui.text_colored(ImVec4(*colours.QUIET), _speed(desk, now))
    _on_the_right(desk, screen)


def _on_the_right(desk: Desk, screen: Screen) -> None:
    """Write which reel this is, whether it is saved, and how the picture is shown."""
    file = desk.reel_file.name + ("" if desk.is_saved else ", not saved")
    top = imgui.get_item_rect_min().y - 4 * screen.scale
    for row, said in enumerate((file, screen.stated)):
        wide, tall = imgui.calc_text_size(said)
        right = imgui.get_window_size().x - 10 * screen.scale
        text_at(right - wide, top + row * (tall + 4 * screen.scale), said)


def _buttons(desk: Desk, screen: Screen) -> None:
    now = screen.now
    size = ImVec2(0, 32 * screen.scale)
    buttons: tuple[tuple[str, str, Callable[[], None]], ...] = (
        ("start", "Go to the first frame (Home)", lambda: desk.go_to(0, now)),
        ("< cue", "Go to the cue before (Page Up)", lambda: desk.go_to_cue(-1, now)),
        ("-1", "One frame back (Left)", lambda: desk.step(-1, now)),
        ("<<", "Shuttle back, faster with every press (J)", lambda: desk.shuttle(-1, now)),
        ("stop", "Stop (K)", lambda: desk.stop(now)),
        ("play", "Play, or stop (Space)", lambda: desk.play(now)),
        (">>", "Shuttle on, faster with every press (L)", lambda: desk.shuttle(1, now)),
        ("+1", "One frame on (Right)", lambda: desk.step(1, now)),
        ("cue >", "Go to the next cue (Page Down)", lambda: desk.go_to_cue(1, now)),
        ("end", "Go to the last frame (End)", lambda: desk.go_to(desk.reel.scan.frames - 1, now)),
    )
    for label, tip, act in buttons:
        if imgui.button(label, size):
            act()
        imgui.set_item_tooltip(tip)
        imgui.same_line(0, 4 * screen.scale)
    cue = desk.next_arrival()
    is_looping = desk.transport.loop is not None
    imgui.begin_disabled(cue is None and not is_looping)
    if imgui.button("no loop" if is_looping else "loop", size):
        desk.loop(None if is_looping or cue is None else loop_about(desk.reel, cue, MARGIN), now)
    imgui.set_item_tooltip("Play round the transition that is next, or about the cue that holds")
    imgui.end_disabled()
    imgui.same_line(0, 4 * screen.scale)
    _sound(screen, ImVec2(62 * screen.scale, size.y))


def _sound(screen: Screen, size: ImVec2) -> None:
    """Switch the sound; where there is none, say why when asked."""
    sounds = screen.hears and not screen.unheard
    imgui.push_style_color(imgui.Col_.text, ImVec4(*(colours.TEXT if sounds else colours.QUIET)))
    if imgui.button("sound" if sounds else "silent", size):
        screen.hears = not screen.hears
    imgui.pop_style_color()
    imgui.set_item_tooltip(screen.unheard or "Sound with the picture, or silence (A)")


def _speed(desk: Desk, now: int) -> str:
    transport = desk.transport
    if not transport.is_moving(now):
        return ""
    said = f"{float(transport.speed):+g} x {float(transport.rate):g} fps"
    return f"{said}, {transport.dropped} frames not shown" if transport.dropped else said
