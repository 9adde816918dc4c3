"""Work under way and what came of it: how far it is, what limits it, how it is stopped; then the verdict."""

from __future__ import annotations

from typing import Final

from imgui_bundle import ImVec2, ImVec4, imgui

from lamphouse.viewer import colours
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.found import lists_what_it_finds, places
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.recording import Job
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.panels.buttons import command_button
from lamphouse.viewer.panels.flow import beside
from lamphouse.viewer.panels.record.words import FAULT, clock, say

TALL: Final = 34.0
WORDS: Final = {
    "pass": "The pass",
    "insert": "The insert",
    "proof": "The proof",
    "check": "The check",
    "report": "The report",
}
AFTER: Final = (
    ("check the master", "check_master"),
    ("write the report", "report_master"),
    ("verify against the reel", "prove_master"),
    ("compare with the grade", "compare_master"),
)


def course(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Draw how the work goes, or how it ended."""
    job = panels.recording.job
    if job is None:
        return
    if job.ended is None:
        _under_way(desk, panels, seen, job)
    else:
        _ended(desk, panels, seen, job)
    for note in job.notes:
        say(f"Note: {note}", colours.QUIET)


def _under_way(desk: Desk, panels: Panels, seen: Seen, job: Job) -> None:
    progress = job.progress
    share = progress.done / progress.total if progress.total else 0.0
    say(progress.stage or f"{WORDS[job.what]} is being begun.")
    imgui.push_style_color(imgui.Col_.plot_histogram, ImVec4(*colours.ACCENT))
    imgui.progress_bar(share, ImVec2(-1, 0), "")  # on its colour no text is read
    imgui.pop_style_color()
    say(f"{progress.done} of {progress.total} frames")
    speed = f"{job.speed:.1f} frames a second" if job.speed else "no speed yet"
    left = "" if job.left is None else f", {clock(job.left)} left"
    say(f"{speed}{left}")
    if progress.limit:
        say(f"{progress.limit} is the limit", colours.QUIET)
    if job.what == "pass":
        cut = f"; {progress.cut} pixels were cut at either end" if progress.cut else ""
        say(f"read back and good: {progress.good} frames{cut}", colours.QUIET)
    _stop(desk, panels, seen, job)


def _stop(desk: Desk, panels: Panels, seen: Seen, job: Job) -> None:
    recording, tall = panels.recording, TALL * panels.scale
    if job.is_stopping:
        say("It stops with the frames that are under way.")
    elif recording.asks_to_stop:
        kept = (
            "What is done is kept and can be resumed." if job.what == "pass" else "Nothing is changed then."
        )
        say(f"Stop after {job.progress.done} frames? {kept}")
        command_button("record", "stop", desk, panels, seen, height=tall)
        imgui.same_line()
        command_button("record_go_on", "go on", desk, panels, seen, height=tall)
    else:
        command_button("record", "stop ...", desk, panels, seen, height=tall)


def _ended(desk: Desk, panels: Panels, seen: Seen, job: Job) -> None:
    ended = job.ended
    if ended is None:
        return
    outcome = ended.outcome
    if outcome is None:
        say(
            f"{WORDS[job.what]} ended early." if ended.how != "stopped" else f"{WORDS[job.what]} was stopped."
        )
        say(ended.sentence, colours.TEXT if ended.how == "stopped" else FAULT)
    else:
        say(outcome.verdict or "Nobody read it back.", colours.BRIGHT if outcome.is_good else FAULT)
        for line in () if lists_what_it_finds(job) else outcome.lines:
            say(line.text, colours.QUIET)
        seconds = (job.ended_at - job.begun) // 1_000_000_000
        say(f"It took {clock(seconds)}.", colours.QUIET)
    if places(job):
        command_button("go_to_fault", "go to the next that was found", desk, panels, seen)
    if panels.recording.side != "finished" and panels.recording.master is not None:
        after(desk, panels, seen)


def after(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Draw what is done with a finished master."""
    for at, (label, name) in enumerate(AFTER):
        if at:
            beside(label)
        command_button(name, label, desk, panels, seen)
