"""The operator's second monitor: the newest frame as it came back from the disk, beside what was sent."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from imgui_bundle import ImVec2, imgui

from lamphouse.viewer import colours
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.recording import Job
from lamphouse.viewer.models.seen import Seen, Textures
from lamphouse.viewer.panels import look
from lamphouse.viewer.panels.draw import box, image, text_at
from lamphouse.viewer.panels.record.words import FAULT
from lamphouse.viewer.panels.scopes import parade, plane

SCOPES: Final = 0.36  # of the height
SIDES: Final = (("sent", "as it was sent"), ("came", "read back from the file"))


def monitor(panels: Panels, seen: Seen, width: float, height: float) -> None:
    """Draw both pictures with their scopes, and whether they are one."""
    job, scale = panels.recording.job, panels.scale
    if job is None:
        return
    at, line = imgui.get_cursor_screen_pos(), imgui.get_text_line_height_with_spacing()
    gap = look.GAP * scale
    wide = (width - gap) / 2
    tall = (height - 2 * line - gap) * SCOPES
    high = height - 2 * line - gap - tall
    for n, (who, words) in enumerate(SIDES):
        left = at.x + n * (wide + gap)
        text_at(left, at.y, words)
        _picture(job, seen, who, (left, at.y + line), (wide, high))
        _scopes(panels, seen, who, (left, at.y + line + high + gap), (wide, tall))
    text, colour = verdict(job)
    text_at(at.x, at.y + height - line, text, colour, width)
    imgui.set_cursor_screen_pos(at)
    imgui.dummy(ImVec2(width, height))


def verdict(job: Job) -> tuple[str, colours.Colour]:
    """Return what is known by now of the frames that came back, and in which colour that is said."""
    if job.ended is not None and job.ended.number is not None:
        return job.ended.sentence, FAULT
    if job.pair is None:
        if job.what == "pass" and job.progress.total and job.progress.done >= job.progress.total:
            return "The file is read back now that it is whole.", colours.TEXT
        return "Nothing has been read back yet.", colours.QUIET
    frame = f"frame {job.pair.number}"
    if job.pair.is_equal:
        return f"{frame}: every code equal, as of all {job.progress.good} frames so far", colours.TEXT
    return f"{frame}: the coding loses codes; areas are within their bounds so far", colours.TEXT


def _picture(job: Job, seen: Seen, who: str, at: tuple[float, float], room: tuple[float, float]) -> None:
    box(at, (at[0] + room[0], at[1] + room[1]), colours.SURROUND)
    texture = seen.textures.named.get(f"{who} picture", 0)
    if job.pair is None or not texture:
        return
    shape = job.shape
    wide = min(room[0], room[1] * shape)
    high = wide / shape
    left, top = at[0] + (room[0] - wide) / 2, at[1] + (room[1] - high) / 2
    image(texture, (left, top), (left + wide, top + high))


def _scopes(panels: Panels, seen: Seen, who: str, at: tuple[float, float], room: tuple[float, float]) -> None:
    named = seen.textures.named if panels.recording.job and panels.recording.job.pair else {}
    textures = Textures(parade=named.get(f"{who} parade", 0), plane=named.get(f"{who} plane", 0))
    side = min(room[1], room[0] * 0.45)
    gap = look.GAP * panels.scale
    imgui.set_cursor_screen_pos(ImVec2(*at))
    shown = replace(seen, textures=textures)
    parade(panels, shown, room[0] - side - gap, room[1])
    imgui.set_cursor_screen_pos(ImVec2(at[0] + room[0] - side, at[1]))
    plane(panels, shown, side)
