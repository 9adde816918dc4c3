"""The strip: the whole reel in small pictures, with its cues, its transitions as ramps, and its marks.

The wheel zooms about the pointer, from the reel to the single frame; a click goes there; a cue is dragged by
its flag, a ramp by its foot, also out of a cut; with Control a cue's copy is. Near a cue, a mark or the
playhead a drag snaps to it, unless Alt is held.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator
from typing import Final

from imgui_bundle import ImVec2, imgui

from lamphouse.graph.cues.words import beginning_text
from lamphouse.graph.edits.cues import cue_at
from lamphouse.graph.edits.marks import mark_text
from lamphouse.graph.reel.records import Cue, Mark
from lamphouse.viewer import colours
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.drags import Drag
from lamphouse.viewer.models.marking import copy_cue
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.panels import Strip as View
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.models.snap import marked_places, near_cues, snapped
from lamphouse.viewer.panels.draw import box, image, line
from lamphouse.viewer.panels.strip_cues import FLAG, draw_cues
from lamphouse.viewer.panels.strip_marks import draw_marks, marks_under
from lamphouse.viewer.panels.strip_place import Place, foot

ZOOM_STEP: Final = 1.3
LEAST: Final = 12.0  # frames that the strip spans at most zoom
NEAR: Final = 7.0
SNAP: Final = 6.0  # pixels within which a drag goes to what is there
STILL: Final = 3.0  # pixels that a hand may tremble in a click


def strip(desk: Desk, panels: Panels, seen: Seen, height: float) -> None:
    """Draw the strip and take what is done on it."""
    at, width = imgui.get_cursor_screen_pos(), imgui.get_content_region_avail().x
    panels.strip_width = width
    place = Place(panels.strip, desk.reel.scan.frames, (at.x, at.y), (width, height))
    imgui.invisible_button("strip", ImVec2(width, height))
    box((at.x, at.y), (at.x + width, at.y + height), colours.SURROUND)
    image(seen.textures.strip, (at.x, at.y + FLAG * panels.scale), (at.x + width, at.y + height))
    imgui.push_clip_rect(ImVec2(at.x, at.y), ImVec2(at.x + width, at.y + height), True)
    draw_cues(place, desk.cues.cues, desk.holding, panels.scale)
    _playhead(desk, place, panels.scale)
    draw_marks(place, desk.reel, panels.scale)
    _in_the_hand(place, panels)
    imgui.pop_clip_rect()
    _done(desk, panels, seen, place)
    if imgui.is_item_hovered() and not imgui.is_item_active():
        _told(desk, panels, place)


def _playhead(desk: Desk, place: Place, scale: float) -> None:
    x = place.x(desk.frame + 0.5)
    line((x, place.top), (x, place.bottom), colours.BRIGHT, 2 * scale)
    if desk.transport.loop is not None:
        start, stop = (place.x(frame) for frame in desk.transport.loop)
        box((start, place.bottom - 4 * scale), (stop, place.bottom), colours.ACCENT)


def _in_the_hand(place: Place, panels: Panels) -> None:
    """Draw where a copy would stand, and what a drag has snapped to."""
    view, scale = panels.strip, panels.scale
    if view.copy is not None:
        x = place.x(view.copy)
        box((x, place.top), (x + 8 * scale, place.top + FLAG * scale), colours.ACCENT)
        line((x, place.top), (x, place.bottom), colours.ACCENT, 2 * scale)
    if view.snapped is not None:
        x = place.x(view.snapped)
        line((x, place.top), (x, place.bottom), colours.BRIGHT, scale)
        for y, inward in ((place.top, 1), (place.bottom, -1)):
            line((x - 5 * scale, y), (x, y + inward * 5 * scale), colours.BRIGHT, scale)
            line((x + 5 * scale, y), (x, y + inward * 5 * scale), colours.BRIGHT, scale)


def _done(desk: Desk, panels: Panels, seen: Seen, place: Place) -> None:
    view, mouse = panels.strip, imgui.get_mouse_pos()
    if imgui.is_item_hovered() and imgui.get_io().mouse_wheel:
        _zoom(view, place, mouse.x)
    if imgui.is_item_activated():
        view.held, view.is_moved = _grasped(desk, panels, place, mouse), False
        if view.held is None:
            desk.go_to(_clicked(desk, panels, place, mouse), seen.now)
    elif imgui.is_item_active() and imgui.is_mouse_dragging(0, STILL * panels.scale):
        view.is_moved = True
        _dragged(desk, panels, seen, place, mouse.x)
    if imgui.is_item_deactivated():
        _let_go(desk, panels, seen, place.frame(mouse.x))


def _clicked(desk: Desk, panels: Panels, place: Place, mouse: ImVec2) -> int:
    """Return the frame that a click means: that of the mark under it, else its own."""
    for mark in marks_under(place, desk.reel, mouse, panels.scale):
        if mark is None or mark.kind != "soft":
            return mark.frame if mark else desk.reel.head_mark
    return place.frame(mouse.x)


def _grasped(desk: Desk, panels: Panels, place: Place, mouse: ImVec2) -> Drag | None:
    reach, at = NEAR * panels.scale * place.per_pixel, place.exact(mouse.x)
    cues = desk.cues.cues
    if mouse.y < place.top + FLAG * panels.scale:
        near = snapped(at, (cue.frame for cue in near_cues(cues, at)), reach)
        return None if near is None else Drag("copy" if imgui.get_io().key_ctrl else "cue", near)
    if mouse.y > place.bottom - 2 * FLAG * panels.scale:
        # Feet stand in the order of their cues. A ramp that is there goes before one that a cut may become.
        index = bisect_left(cues, at, key=foot)
        feet = [cue for cue in cues[max(0, index - 2) : index + 2] if abs(foot(cue) - at) <= reach]
        best = min(feet, key=lambda cue: (foot(cue) == cue.frame, abs(foot(cue) - at)), default=None)
        return None if best is None else Drag("ramp", best.frame)
    return None


def _dragged(desk: Desk, panels: Panels, seen: Seen, place: Place, x: float) -> None:
    view = panels.strip
    target = None
    if not imgui.get_io().key_alt:
        at = place.exact(x)
        target = snapped(at, _targets(desk, view, at), SNAP * panels.scale * place.per_pixel)
    to = place.frame(x) if target is None else target
    view.snapped = target if _taken_to(desk, panels, seen, to) == target else None


def _targets(desk: Desk, view: View, at: float) -> Iterator[int]:
    """Give what a drag may snap to. No cue stands on another, and the playhead does not follow itself."""
    yield from marked_places(desk.reel)
    what = view.held.what if view.held else ""
    if view.held is not None:
        yield desk.frame
    if what in ("", "ramp"):
        yield from (cue.frame for cue in near_cues(desk.cues.cues, at))


def _taken_to(desk: Desk, panels: Panels, seen: Seen, to: int) -> int | None:
    """Take what is held to a frame, and return where it is then."""
    view = panels.strip
    drag = view.held
    if drag is None or drag.cue is None:
        desk.go_to(to, seen.now)
        return desk.frame
    frame = drag.cue
    if drag.what == "ramp":
        desk.set_length(frame, frame - to, drag)
        cue = cue_at(desk.reel, frame)
        return foot(cue) if cue else None
    if drag.what == "copy":
        view.copy = max(0, min(to, desk.reel.scan.frames - 1))
        return view.copy
    drag.cue = desk.move(frame, to, drag)
    return drag.cue


def _let_go(desk: Desk, panels: Panels, seen: Seen, at: int) -> None:
    view = panels.strip
    drag = view.held
    if drag is not None and drag.cue is not None and not view.is_moved:
        desk.go_to(at if drag.what == "ramp" else drag.cue, seen.now)
    elif drag is not None and drag.cue is not None and view.copy is not None:
        copy_cue(desk, drag.cue, view.copy)
    view.held = view.copy = view.snapped = None


def _told(desk: Desk, panels: Panels, place: Place) -> None:
    """Say what is under the pointer: a cue by its line or its name, a mark by its shape."""
    mouse = imgui.get_mouse_pos()
    if mouse.y >= place.top + FLAG * panels.scale:
        said = [_of_mark(desk, mark) for mark in marks_under(place, desk.reel, mouse, panels.scale)]
    else:
        index = desk.cues.holding(place.frame(mouse.x + NEAR * panels.scale))
        said = [] if index is None else [_of_cue(desk, desk.cues.cues[index])]
    if said:
        imgui.set_tooltip("\n".join(said))


def _of_cue(desk: Desk, cue: Cue) -> str:
    return f"{cue.name or 'cue'}\n{desk.readings(cue.frame).timecode}, {beginning_text(cue)}"


def _of_mark(desk: Desk, mark: Mark | None) -> str:
    if mark is None:
        return f"head mark\n{desk.readings(desk.reel.head_mark).timecode}"
    name = f"{mark.name}\n" if mark.name else ""
    return f"{name}{mark_text(mark)}\n{desk.readings(mark.frame).timecode}"


def _zoom(view: View, place: Place, x: float) -> None:
    start, stop = view.span
    io = imgui.get_io()
    if io.key_shift:
        by = -io.mouse_wheel * (stop - start) * 0.1
    else:
        by = 0.0
        about = place.exact(x)
        factor = ZOOM_STEP**-io.mouse_wheel
        factor = max(factor, LEAST / (stop - start))
        start, stop = about + (start - about) * factor, about + (stop - about) * factor
    length = min(stop - start, place.frames)
    start = min(max(0.0, start + by), place.frames - length)
    view.span = (start, start + length)
