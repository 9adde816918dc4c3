"""The strip: the whole reel in small pictures, with its cues, its transitions as ramps, marks and tracks.

The wheel zooms about the pointer, from the reel to the single frame; a click goes there; a cue is dragged by
its flag, a ramp by its foot, also out of a cut; with Control a cue's copy is. Near a cue, a mark or the
playhead a drag snaps to it, unless Alt is held.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator
from typing import Final

from imgui_bundle import ImVec2, imgui

from lamphouse.graph.cues.words import beginning_text, cue_text
from lamphouse.graph.edits.cues import cue_at
from lamphouse.graph.edits.marks import mark_text
from lamphouse.graph.reel.records import Cue, Mark
from lamphouse.graph.survey.words import what_text
from lamphouse.viewer import colours
from lamphouse.viewer.models.by_hand import follow_drag, return_home
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.drags import Drag
from lamphouse.viewer.models.ends import marked_frames
from lamphouse.viewer.models.marking import copy_here
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.panels import Strip as View
from lamphouse.viewer.models.proposals import choose, listed, previewed, sure_text
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.models.snap import marked_places, near_cues, snapped
from lamphouse.viewer.models.sounding import pip_frame
from lamphouse.viewer.models.survey_rows import key_of
from lamphouse.viewer.models.transport import Transport
from lamphouse.viewer.panels.draw import box, image, line
from lamphouse.viewer.panels.strip_cues import FLAG, draw_cues
from lamphouse.viewer.panels.strip_ends import draw_ends, draw_stale
from lamphouse.viewer.panels.strip_marks import draw_marks, draw_pip, is_on_pip, marks_under
from lamphouse.viewer.panels.strip_proposals import draw_proposals, placed, proposal_under
from lamphouse.viewer.panels.strip_ruler import Ruler, foot
from lamphouse.viewer.panels.strip_tracks import draw_tracks, tracks_under
from lamphouse.viewer.panels.tracks import tip

ZOOM_STEP: Final = 1.3
LEAST: Final = 12.0  # frames that the strip spans at most zoom
NEAR: Final = 7.0
SNAP: Final = 6.0  # pixels within which a drag goes to what is there
CUE, RAMP, COPY = "cue", "ramp", "copy"  # what a hand may drag here
STILL: Final = 3.0  # pixels that a hand may tremble in a click


def strip(desk: Desk, panels: Panels, seen: Seen, height: float) -> None:
    """Draw the strip and take what is done on it."""
    at, width = imgui.get_cursor_screen_pos(), imgui.get_content_region_avail().x
    panels.strip_width = width
    ruler = Ruler(panels.strip, desk.reel.scan.frames, (at.x, at.y), (width, height))
    imgui.invisible_button("strip", ImVec2(width, height))
    box((at.x, at.y), (at.x + width, at.y + height), colours.SURROUND)
    image(seen.textures.strip, (at.x, at.y + FLAG * panels.scale), (at.x + width, at.y + height))
    imgui.push_clip_rect(ImVec2(at.x, at.y), ImVec2(at.x + width, at.y + height), True)
    draw_cues(ruler, desk.cues.cues, desk.holding, panels.scale)
    if panels.recording.stale is not None:
        draw_stale(ruler, panels.recording.stale.frames, panels.scale)
    draw_ends(ruler, marked_frames(desk), panels.scale)
    draw_tracks(ruler, panels.tracks, panels.tracks.curves(desk), panels.scale)
    _playhead(desk, ruler, panels.scale)
    draw_marks(ruler, desk.reel, panels.scale)
    draw_pip(ruler, pip_frame(desk), panels.scale)
    if panels.proposals.is_open:
        _proposed(desk, panels, ruler)
    _in_the_hand(ruler, panels)
    imgui.pop_clip_rect()
    _done(desk, panels, seen, ruler)
    if imgui.is_item_hovered() and not imgui.is_item_active():
        _tooltip(desk, panels, ruler)


def _playhead(desk: Desk, ruler: Ruler, scale: float) -> None:
    x = ruler.x(desk.frame + 0.5)
    line((x, ruler.top), (x, ruler.bottom), colours.BRIGHT, 2 * scale)
    if desk.transport.loop is not None:
        start, stop = (ruler.x(frame) for frame in desk.transport.loop)
        box((start, ruler.bottom - 4 * scale), (stop, ruler.bottom), colours.ACCENT)


def _in_the_hand(ruler: Ruler, panels: Panels) -> None:
    """Draw where a copy would stand, and what a drag has snapped to."""
    view, scale = panels.strip, panels.scale
    if view.copy is not None:
        x = ruler.x(view.copy)
        box((x, ruler.top), (x + 8 * scale, ruler.top + FLAG * scale), colours.ACCENT)
        line((x, ruler.top), (x, ruler.bottom), colours.ACCENT, 2 * scale)
    if view.snapped is not None:
        x = ruler.x(view.snapped)
        line((x, ruler.top), (x, ruler.bottom), colours.BRIGHT, scale)
        for y, inward in ((ruler.top, 1), (ruler.bottom, -1)):
            line((x - 5 * scale, y), (x, y + inward * 5 * scale), colours.BRIGHT, scale)
            line((x + 5 * scale, y), (x, y + inward * 5 * scale), colours.BRIGHT, scale)


def _done(desk: Desk, panels: Panels, seen: Seen, ruler: Ruler) -> None:
    view, mouse = panels.strip, imgui.get_mouse_pos()
    if imgui.is_item_hovered() and imgui.get_io().mouse_wheel:
        _zoom(view, ruler, mouse.x)
    if imgui.is_item_activated() and (one := panels.proposals.under) is not None:
        choose(panels.proposals, desk, one, seen.now)
        panels.drag = None
    elif imgui.is_item_activated():
        panels.drag, view.is_moved = _grasped(desk, panels, ruler, mouse), False
        if panels.drag is None:
            desk.go_to(_clicked(desk, panels, ruler, mouse), seen.now)
    elif imgui.is_item_active() and imgui.is_mouse_dragging(0, STILL * panels.scale):
        view.is_moved = True
        _dragged(desk, panels, seen, ruler, mouse.x)
    if imgui.is_item_deactivated():
        _let_go(desk, panels, seen, ruler.frame(mouse.x))


def _proposed(desk: Desk, panels: Panels, ruler: Ruler) -> None:
    """Draw what the survey's list shows, and note which of it the pointer is over."""
    held, scale = panels.proposals, panels.scale
    shown, one = placed(ruler, listed(held, desk.reel), scale), previewed(held, desk.reel)
    draw_proposals(ruler, shown, None if one is None else key_of(one), scale)
    if imgui.is_item_hovered():
        held.under = proposal_under(shown, imgui.get_mouse_pos(), scale)


def _clicked(desk: Desk, panels: Panels, ruler: Ruler, mouse: ImVec2) -> int:
    """Return the frame that a click means: that of the mark under it, else its own."""
    pip = pip_frame(desk)
    if pip is not None and is_on_pip(ruler, pip, mouse, panels.scale):
        return pip
    for mark in marks_under(ruler, desk.reel, mouse, panels.scale):
        if mark is None or mark.kind != "soft":
            return mark.frame if mark else desk.reel.head_mark
    return ruler.frame(mouse.x)


def _grasped(desk: Desk, panels: Panels, ruler: Ruler, mouse: ImVec2) -> Drag | None:
    reach, at = NEAR * panels.scale * ruler.per_pixel, ruler.exact(mouse.x)
    cues = desk.cues.cues
    if mouse.y < ruler.top + FLAG * panels.scale:
        near = snapped(at, (cue.frame for cue in near_cues(cues, at)), reach)
        return None if near is None else Drag(COPY if imgui.get_io().key_ctrl else CUE, near)
    if mouse.y > ruler.bottom - 2 * FLAG * panels.scale:
        # Feet stand in the order of their cues. A ramp that is there goes before one that a cut may become.
        index = bisect_left(cues, at, key=foot)
        feet = [cue for cue in cues[max(0, index - 2) : index + 2] if abs(foot(cue) - at) <= reach]
        best = min(feet, key=lambda cue: (foot(cue) == cue.frame, abs(foot(cue) - at)), default=None)
        return None if best is None else Drag(RAMP, best.frame)
    return None


def _dragged(desk: Desk, panels: Panels, seen: Seen, ruler: Ruler, x: float) -> None:
    view = panels.strip
    target = None
    if not imgui.get_io().key_alt:
        at = ruler.exact(x)
        there = _targets(desk, panels.drag, view.home, at)
        target = snapped(at, there, SNAP * panels.scale * ruler.per_pixel)
    to = ruler.frame(x) if target is None else target
    view.snapped = target if _taken_to(desk, panels, seen, to) == target else None


def _targets(desk: Desk, drag: Drag | None, home: Transport | None, at: float) -> Iterator[int]:
    """Give what a drag may snap to. No cue stands on another, and the playhead does not follow itself."""
    yield from marked_places(desk.reel)
    if drag is not None:
        yield desk.frame if home is None else home.frame
    if drag is None or drag.what == RAMP:
        yield from (cue.frame for cue in near_cues(desk.cues.cues, at))


def _taken_to(desk: Desk, panels: Panels, seen: Seen, to: int) -> int | None:
    """Take what is held to a frame, with the picture, and return where it is then."""
    view, drag = panels.strip, panels.drag
    if drag is None or drag.cue is None:
        desk.go_to(to, seen.now)
        return desk.frame
    frame = drag.cue
    if drag.what == RAMP:
        desk.set_length(frame, frame - to, drag)
        cue = cue_at(desk.reel, frame)
        shown = foot(cue) if cue else frame
    elif drag.what == COPY:
        shown = view.copy = max(0, min(to, desk.reel.scan.frames - 1))
    else:
        shown = drag.cue = desk.move(frame, to, drag)
    follow_drag(desk, view, shown, seen.now)
    return shown


def _let_go(desk: Desk, panels: Panels, seen: Seen, at: int) -> None:
    view, drag = panels.strip, panels.drag
    return_home(desk, view, seen.now)
    if drag is not None and drag.cue is not None and not view.is_moved:
        desk.go_to(at if drag.what == RAMP else drag.cue, seen.now)
    elif drag is not None and drag.cue is not None and view.copy is not None:
        copy_here(desk, drag.cue, view.copy)
    panels.drag = view.copy = view.snapped = None


def _tooltip(desk: Desk, panels: Panels, ruler: Ruler) -> None:
    """Say what is under the pointer: a cue by its line or its name, a mark by its shape, a track."""
    mouse = imgui.get_mouse_pos()
    if (one := panels.proposals.under) is not None:
        lines = [f"{what_text(one)} ({sure_text(one)})", desk.readings(one.frame).timecode, one.why]
    elif mouse.y >= ruler.top + FLAG * panels.scale:
        lines = [_mark_text(desk, mark) for mark in marks_under(ruler, desk.reel, mouse, panels.scale)]
        pip = pip_frame(desk)
        if pip is not None and is_on_pip(ruler, pip, mouse, panels.scale):
            lines.append(f"sync pip of the sound\n{desk.readings(pip).timecode}")
        moving = tracks_under(ruler, panels.tracks.curves(desk), mouse, panels.scale)
        lines += (tip(desk, curve) for curve in moving)
    else:
        index = desk.cues.holding(ruler.frame(mouse.x + NEAR * panels.scale))
        lines = [] if index is None else [_cue_text(desk, desk.cues.cues[index])]
        stale = panels.recording.stale
        if stale is not None and any(ruler.frame(mouse.x) in frames for frames in stale.frames):
            lines.append("the last master is older than the grade here")
    if lines:
        imgui.set_tooltip("\n".join(lines))


def _cue_text(desk: Desk, cue: Cue) -> str:
    number = (desk.cues.holding(cue.frame) or 0) + 1
    return f"{cue_text(number, cue)}\n{desk.readings(cue.frame).timecode}, {beginning_text(cue)}"


def _mark_text(desk: Desk, mark: Mark | None) -> str:
    if mark is None:
        return f"head mark\n{desk.readings(desk.reel.head_mark).timecode}"
    lines = mark.name, mark_text(mark), desk.readings(mark.frame).timecode, mark.note
    return "\n".join(line for line in lines if line)


def _zoom(view: View, ruler: Ruler, x: float) -> None:
    start, stop = view.span
    io = imgui.get_io()
    if io.key_shift:
        by = -io.mouse_wheel * (stop - start) * 0.1
    else:
        by = 0.0
        about = ruler.exact(x)
        factor = ZOOM_STEP**-io.mouse_wheel
        factor = max(factor, LEAST / (stop - start))
        start, stop = about + (start - about) * factor, about + (stop - about) * factor
    length = min(stop - start, ruler.frames)
    start = min(max(0.0, start + by), ruler.frames - length)
    view.span = (start, start + length)
