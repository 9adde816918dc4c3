"""An insert: which master, which frames, and how these join the others, as it is and as it would be."""

from __future__ import annotations

from typing import Final

from imgui_bundle import ImVec2, imgui

from lamphouse.viewer import colours
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.inserting import numbers_to_make, wanted
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.recording import choose_master
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.panels import look
from lamphouse.viewer.panels.buttons import command_button
from lamphouse.viewer.panels.draw import box, image, text_at
from lamphouse.viewer.panels.record.words import FAULT, say

TALL: Final = 34.0
BROWSE: Final = 78.0
MOST: Final = 6  # runs of frames that are listed
ROWS: Final = (("now", "as the master is"), ("new", "as it would be"))
COLUMNS: Final = (
    ("before", "frame before"),
    ("first", "first"),
    ("last", "last"),
    ("after", "frame after"),
)
WAYS: Final = (
    ("stale", "all that is older than the grade"),
    ("cue", "the frames of the cue that holds"),
    ("marked", "from in to out"),
)


def inserts(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Draw what is chosen, and take what is."""
    recording = panels.recording
    chosen_master(desk, panels, seen)
    stale = recording.stale
    if stale is not None and stale.master is not None:
        say(stale.reason or stale.sentence, FAULT if stale.reason else colours.TEXT)
    for way, label in WAYS:
        if imgui.radio_button(label, recording.takes == way):
            recording.takes, recording.run = way, 0  # type: ignore[assignment]  # of those there are
    _frames(desk, panels, seen)
    _, recording.keeps_old = imgui.checkbox("keep the old master beside it", recording.keeps_old)
    can = recording.master is not None and wanted(desk, recording) is not None
    label, tall = "make them anew", TALL * panels.scale
    command_button("insert", label, desk, panels, seen, height=tall, can=can)


def chosen_master(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Draw which master it is, and take another."""
    recording = panels.recording
    shown = recording.master.name if recording.master is not None else "no master yet"
    say(f"master: {shown}", colours.BRIGHT)
    imgui.set_next_item_width(-BROWSE * panels.scale)
    flags = imgui.InputTextFlags_.enter_returns_true
    entered, recording.typed_master = imgui.input_text_with_hint(
        "##its path", "type the path of another, Return", recording.typed_master, flags
    )
    imgui.same_line()
    command_button("record_browse", "browse", desk, panels, seen)
    if entered and recording.typed_master.strip():
        choose_master(desk, recording, recording.typed_master)
        recording.typed_master = ""


def _frames(desk: Desk, panels: Panels, seen: Seen) -> None:
    runs, record = numbers_to_make(desk, panels.recording), panels.recording.record
    if record is None or not runs:
        say("no frames", colours.QUIET)
        return
    span = record.span
    say(f"{sum(map(len, runs))} of {span.frames} frames of the master")
    for run in runs[:MOST]:
        first, last = (span.timecode(number) for number in (run.start, run.stop - 1))
        say(f"{first} to {last}, {len(run)} frames", colours.QUIET)
    if len(runs) > MOST:
        say(f"and {len(runs) - MOST} more runs", colours.QUIET)
    if len(runs) > 1:
        command_button("insert_next", "joins of the next run", desk, panels, seen)


def joins(desk: Desk, panels: Panels, seen: Seen, width: float, height: float) -> None:
    """Draw the four pictures on both sides of both joins, as they are and as they would be."""
    found, scale = panels.recording.joins, panels.scale
    if found is None or found.reason:
        say(found.reason if found else "The joins are shown once frames are chosen.", colours.QUIET)
        return
    at, line, gap = imgui.get_cursor_screen_pos(), imgui.get_text_line_height_with_spacing(), look.GAP * scale
    wide, high = (width - 3 * gap) / 4, (height - 4 * line - gap) / 2
    rows = ROWS if numbers_to_make(desk, panels.recording) else ROWS[:1]  # else they have been made
    for n, (row, words) in enumerate(rows):
        top = at.y + n * (high + 2 * line)
        text_at(at.x, top, f"{words}{_steps(panels, n)}")
        for column, (what, label) in enumerate(COLUMNS):
            left = at.x + column * (wide + gap)
            text_at(left, top + line, label)
            _picture(panels, seen, (row, what), (left, top + 2 * line), (wide, high - line))
    imgui.dummy(ImVec2(width, height - line))


def _steps(panels: Panels, row: int) -> str:
    """Return how large the steps at both joins are, in words."""
    found = panels.recording.joins
    steps = [pair[row] for pair in found.steps] if found is not None else []
    words = [
        f"{where} {step:.2f}" for where, step in zip(("first join", "last join"), steps, strict=False) if step
    ]
    return f": CIEDE2000 at the {' and the '.join(words)}" if words else ""


def _picture(
    panels: Panels, seen: Seen, what: tuple[str, str], at: tuple[float, float], room: tuple[float, float]
) -> None:
    found = panels.recording.joins
    pictures = (found.now if what[0] == "now" else found.new) if found is not None else {}
    box(at, (at[0] + room[0], at[1] + room[1]), colours.SURROUND)
    if what[1] not in pictures:
        return
    shape = panels.recording.shape
    wide = min(room[0], room[1] * shape)
    image(seen.textures.named.get(" ".join(what), 0), at, (at[0] + wide, at[1] + wide / shape))
