"""The operator's second monitor: the newest frame as it came back from the disk, beside what was sent."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from imgui_bundle import ImVec2, imgui

from lamphouse.viewer import colours
from lamphouse.viewer.jobs.said import Pair
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.recording import Job
from lamphouse.viewer.models.seen import Seen, Textures
from lamphouse.viewer.panels import look
from lamphouse.viewer.panels.draw import box, image, text_at
from lamphouse.viewer.panels.record.words import FAULT
from lamphouse.viewer.panels.scopes import parade, plane

Place = tuple[float, float]
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
    if job.pair is None or job.pair.came is None:
        if job.waits_for_end:
            return "The index of such a file comes last: it is read back once it is whole.", colours.TEXT
        return "Nothing has been read back yet.", colours.QUIET
    return f"frame {job.pair.number}: {_found(job, job.pair)}", colours.TEXT


def _found(job: Job, pair: Pair) -> str:
    if job.ended is not None:
        return "one of those that were read back"
    if pair.is_equal and job.what == "insert":
        return "every code equal"
    if pair.is_equal:
        return f"every code equal, as of all {job.progress.good} frames so far"
    return "it is as it was meant" if pair.sent is None else "the coding loses codes; areas are within bounds"


def _picture(job: Job, seen: Seen, who: str, at: Place, room: Place) -> None:
    box(at, (at[0] + room[0], at[1] + room[1]), colours.SURROUND)
    if not _is_there(job, who):
        return
    wide = min(room[0], room[1] * job.shape)
    high = wide / job.shape
    left, top = at[0] + (room[0] - wide) / 2, at[1] + (room[1] - high) / 2
    image(seen.textures.named.get(f"{who} picture", 0), (left, top), (left + wide, top + high))


def _is_there(job: Job | None, who: str) -> bool:
    pair = job.pair if job is not None else None
    return pair is not None and (pair.sent if who == "sent" else pair.came) is not None


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
