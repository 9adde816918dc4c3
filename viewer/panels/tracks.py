"""The tracks of the reel in a list that one button opens: gone to, switched, thinned out, taken out."""

from __future__ import annotations

from typing import Final

from imgui_bundle import ImVec2, ImVec4, imgui

from lamphouse.graph.cues.words import track_text
from lamphouse.nodes.one_line import one_line
from lamphouse.viewer import colours
from lamphouse.viewer.models import tracks as model
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.models.tracks import Curve
from lamphouse.viewer.panels.buttons import begin_popup_below, command_button
from lamphouse.viewer.panels.draw import begun
from lamphouse.viewer.panels.focus import FLAT

ROWS: Final = 10  # shown at once; the others are reached by the wheel
WIDE: Final = 770.0
SLIDER: Final = 110.0
MOST: Final = 0.5  # of how far a track goes: beyond that little is left of it


def tracks(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Draw the button, and the list once it is open."""
    if imgui.small_button("tracks"):
        imgui.open_popup("tracks")
    imgui.set_item_tooltip("What moves from frame to frame, as against flicker: on or off, and its keys")
    if begin_popup_below("tracks"):
        found = panels.tracks.curves(desk)
        if found:
            _all(desk, panels, seen, found)
            _list(desk, panels, seen, found)
        else:
            imgui.text_colored(
                ImVec4(*colours.QUIET), "No tracks yet: the survey proposes some against flicker."
            )
        imgui.end_popup()


def _all(desk: Desk, panels: Panels, seen: Seen, found: tuple[Curve, ...]) -> None:
    """Draw what is done to all of them, and how far keys are thinned."""
    every = tuple(curve.track for curve in found)
    command_button("tracks_here", "on or off here", desk, panels, seen)
    for label, is_on in (("all on", True), ("all off", False)):
        imgui.same_line()
        if imgui.button(label):
            model.switch(desk, every, is_on=is_on)
    imgui.same_line()
    if imgui.button("thin all"):
        model.thin(desk, found, panels.tracks.share)
    imgui.set_item_tooltip("Leaves the fewest keys that keep within this share of how far each track goes")
    imgui.same_line()
    imgui.set_next_item_width(SLIDER * panels.scale)
    changed, share = imgui.slider_float("##share", 100 * panels.tracks.share, 0.5, 100 * MOST, "to %.1f %%")
    if changed:
        panels.tracks.share = share / 100


def _list(desk: Desk, panels: Panels, seen: Seen, found: tuple[Curve, ...]) -> None:
    tall = imgui.get_frame_height_with_spacing()
    room = imgui.get_io().display_size.y - imgui.get_cursor_screen_pos().y - tall
    rows = max(1, min(ROWS, len(found), int(room / tall)))
    if imgui.begin_child("list", ImVec2(WIDE * panels.scale, rows * tall), FLAT):
        clipper = imgui.ListClipper()
        clipper.begin(len(found), tall)
        while clipper.step():
            for curve in found[clipper.display_start : clipper.display_end]:
                imgui.push_id(f"{curve.track.frame} {curve.track.parameter}")
                _row(desk, panels, seen, curve)
                imgui.pop_id()
    imgui.end_child()


def _row(desk: Desk, panels: Panels, seen: Seen, curve: Curve) -> None:
    track, share = curve.track, panels.tracks.share
    changed, is_on = imgui.checkbox("##track", track.is_on)
    imgui.set_item_tooltip("Whether it moves anything; its keys stay")
    if changed:
        model.switch(desk, (track,), is_on=is_on)
    imgui.same_line()
    if imgui.button("go to"):
        desk.go_to(track.frame, seen.now)
    imgui.same_line()
    if imgui.button("thin"):
        model.thin(desk, (curve,), share)
    imgui.set_item_tooltip(
        f"Leaves the fewest keys that keep within {model.error_text(desk, curve, share)} of what it does now"
    )
    imgui.same_line()
    if imgui.button("remove"):
        model.remove(desk, track)
    imgui.same_line()
    is_here = track.frame <= desk.frame < track.stop
    imgui.text_colored(
        ImVec4(*(colours.BRIGHT if is_here else colours.TEXT)), desk.readings(track.frame).timecode
    )
    imgui.same_line()
    words = f"{one_line(track.parameter)}  {track_text(track)}"
    imgui.text_colored(ImVec4(*colours.QUIET), begun(words, imgui.get_content_region_avail().x))
    imgui.set_item_tooltip(tip(desk, curve))


def tip(desk: Desk, curve: Curve) -> str:
    """Return all that is said of a track, in lines."""
    track = curve.track
    lines = (one_line(track.name), one_line(track.parameter), track_text(track))
    return "\n".join(filter(None, (*lines, desk.readings(track.frame).timecode)))
