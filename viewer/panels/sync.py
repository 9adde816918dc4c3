"""How loud the sound is and where it lies beside the film, behind one button."""

from __future__ import annotations

from typing import Final

from imgui_bundle import ImVec2, ImVec4, imgui

from lamphouse.graph.edits.sound import ADVANCES, Track, offset_text
from lamphouse.viewer import colours
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.models.sounding import LOUDEST, SOFTEST, advance_sound, pip_frame, type_offset
from lamphouse.viewer.panels.buttons import command_button

NUDGES: Final = (
    ("frame earlier", "sound_earlier"),
    ("frame later", "sound_later"),
    ("ms earlier", "sound_little_earlier"),
    ("ms later", "sound_little_later"),
)
LEVELS: Final = (("softer", "softer"), ("louder", "louder"), ("mute", "sound"))
FIELD: Final = 190.0


def sync(desk: Desk, panels: Panels, seen: Seen, height: float) -> None:
    """Draw the button, and what it opens."""
    imgui.begin_disabled(desk.reel.sound is None)
    if imgui.button("sync", ImVec2(0, height)):
        imgui.open_popup("sync")
    imgui.end_disabled()
    imgui.set_item_tooltip("How loud the sound is, where it lies beside the film, and its sync pip")
    corner = imgui.get_item_rect_min()
    imgui.set_next_window_pos(ImVec2(corner.x, corner.y - 4), imgui.Cond_.always, ImVec2(0, 1))
    if imgui.begin_popup("sync"):
        _level(desk, panels, seen)
        _place(desk, panels, seen)
        _pip(desk, panels, seen)
        imgui.end_popup()


def _level(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Draw how loud the sound is played; it is written once the slider is let go."""
    imgui.set_next_item_width(FIELD * panels.scale)
    level = panels.preferred.now.sound_level
    changed, level = imgui.slider_float("##level", level, SOFTEST, LOUDEST, "%+.0f dB")
    ended = imgui.is_item_deactivated_after_edit()
    imgui.set_item_tooltip("How loud the sound is played; a master's sound stays as it is")
    if changed or ended:
        said = panels.preferred.change(is_kept=ended, sound_level=level)
        desk.message = said or desk.message
    for label, name in LEVELS:
        imgui.same_line()
        command_button(name, label, desk, panels, seen)
    if seen.heard.reason:
        imgui.text_colored(ImVec4(*colours.QUIET), seen.heard.reason)


def _place(desk: Desk, panels: Panels, seen: Seen) -> None:
    ref = desk.reel.sound
    if ref is None:
        return
    imgui.text(f"The sound begins {offset_text(ref)}.")
    if ref.rate is not None and ref.rate != desk.reel.rate:
        recorded = f"It was recorded at {ref.rate} film frames a second; the film runs at {desk.reel.rate}."
        imgui.text_colored(ImVec4(*colours.QUIET), recorded)
    for label, name in NUDGES:
        command_button(name, label, desk, panels, seen)
        imgui.same_line()
    imgui.new_line()
    for track, frames in ADVANCES.get(desk.reel.gauge, {}).items():
        _advance(desk, track, frames)
        imgui.same_line()
    imgui.set_next_item_width(FIELD * panels.scale)
    flags = imgui.InputTextFlags_.enter_returns_true
    entered, panels.offset = imgui.input_text_with_hint(
        "##offset", "-26f, +12.5ms, Return", panels.offset, flags
    )
    if entered and panels.offset.strip():
        type_offset(desk, panels.offset)
        panels.offset = ""


def _advance(desk: Desk, track: Track, frames: int) -> None:
    if imgui.button(f"{track} {frames:+d}"):
        advance_sound(desk, track)
    way = "nearer the head than its picture" if frames > 0 else "nearer the tail than its picture"
    imgui.set_item_tooltip(
        f"For sound taken off the film beside its pictures: {track} sound of {desk.reel.gauge} lies "
        f"{abs(frames)} frames {way}"
    )


def _pip(desk: Desk, panels: Panels, seen: Seen) -> None:
    frame = pip_frame(desk)
    command_button("pip_here", "sync pip here", desk, panels, seen, can=desk.pip is not None)
    imgui.same_line()
    if frame is None:
        where = "No sync pip was found." if desk.pip is None else "The sync pip is off the film."
        imgui.text_colored(ImVec4(*colours.QUIET), where)
        return
    if imgui.button("go to it"):
        desk.go_to(frame, seen.now)
    imgui.same_line()
    imgui.text(f"{desk.readings(frame).timecode}, frame {frame}")
