"""What a pass is to make, chosen: the delivery, the frames, the name; and what is said of it beforehand."""

from __future__ import annotations

from typing import Final

from imgui_bundle import ImVec2, imgui

from lamphouse.graph.transfer.beforehand import Left, Room
from lamphouse.viewer import colours
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.ends import marked_frames
from lamphouse.viewer.models.master_choice import Chosen
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.panels.buttons import command_button
from lamphouse.viewer.panels.record.words import FAULT, say, size

TALL: Final = 34.0
BROWSE: Final = 78.0


def choices(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Draw them, and take what is chosen."""
    recording = panels.recording
    choice = recording.choice
    chosen = choice.now(desk, seen.now)
    _delivery(desk, panels, chosen)
    _frames(desk, panels)
    _name(desk, panels, seen, chosen)
    if chosen.before is not None and chosen.before.room is not None:
        _room(chosen.before.room)
    for sentence in chosen.before.said if chosen.before else ():
        say(sentence, colours.QUIET)
    if chosen.reason:
        say(chosen.reason, FAULT)
    left = chosen.before.left if chosen.before else None
    if left is not None:
        _left(desk, panels, seen, left)
        return
    recording.asks_what_is_left = False
    label = "begin the pass"
    command_button("record", label, desk, panels, seen, height=TALL * panels.scale, can=not chosen.reason)


def _delivery(desk: Desk, panels: Panels, chosen: Chosen) -> None:
    choice = panels.recording.choice
    imgui.set_next_item_width(-1)
    if imgui.begin_combo("##delivery", f"delivery: {choice.delivery}"):
        for name in choice.names(desk):
            own = ", the reel's own" if name in desk.reel.deliveries else ""
            if imgui.selectable(f"{name}{own}", name == choice.delivery)[0]:
                choice.delivery = name
        imgui.end_combo()
    if chosen.delivery is not None and chosen.delivery.sentence:
        say(chosen.delivery.sentence, colours.QUIET)


def _frames(desk: Desk, panels: Panels) -> None:
    choice, marked = panels.recording.choice, marked_frames(desk)
    if imgui.radio_button("all of the reel", not choice.is_marked):
        choice.is_marked = False
    imgui.same_line()
    imgui.begin_disabled(marked is None)
    if imgui.radio_button("from in to out", choice.is_marked and marked is not None):
        choice.is_marked = True
    imgui.end_disabled()
    frames = choice.frames(desk)
    first, last = (desk.readings(at).timecode for at in (frames.start, frames.stop - 1))
    say(f"{len(frames)} frames of film, {first} to {last}", colours.QUIET)


def _name(desk: Desk, panels: Panels, seen: Seen, chosen: Chosen) -> None:
    choice = panels.recording.choice
    imgui.set_next_item_width(-BROWSE * panels.scale)
    _, choice.typed = imgui.input_text_with_hint("##file", chosen.master.name, choice.typed)
    imgui.set_item_tooltip("The name of the master's file or folder; what is not whole begins at the reel")
    imgui.same_line()
    command_button("record_browse", "browse", desk, panels, seen)
    say(f"in {chosen.master.parent}", colours.QUIET)


def _room(room: Room) -> None:
    text = f"at most {size(room.most)}, and {size(room.free)} are free"
    if room.is_enough:
        say(text, colours.QUIET)
    else:
        say(f"{text}: it may not fit.", FAULT)


def _left(desk: Desk, panels: Panels, seen: Seen, left: Left) -> None:
    """Say what another pass has left, and ask what is to become of it."""
    known = f"{left.frames} of {left.of} frames are on record, {left.read_back} of them read back and good"
    say(f"{left.path.name} is left from a pass that did not end: {known}.")
    tall = TALL * panels.scale
    if left.can_resume:
        label = "resume it" if panels.recording.asks_what_is_left else "resume"
        command_button("record", label, desk, panels, seen, height=tall)
        imgui.same_line()
    if imgui.button("throw it away and begin anew", ImVec2(0, tall)):
        panels.recording.asks_what_is_left = True
        from lamphouse.viewer.models.recording import discard_left

        discard_left(desk, panels.recording, seen.now)
