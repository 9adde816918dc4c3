"""Cues, by hand."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from lamphouse.viewer.models.by_hand import cue_here, cue_on_run, nudge_cue
from lamphouse.viewer.models.chosen import (
    CueRows,
    average,
    carry,
    choose_all,
    copy,
    give,
    match,
    take_keyboard,
)
from lamphouse.viewer.models.commands.command import Act, Command, done
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.matching import even_out, match_picture
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.tracks import switch_here


def _on_run(desk: Desk, panels: Panels, now: int) -> None:
    cue_on_run(desk, panels.preferred.reaction, now)


def _nudged(by: int) -> Act:
    def nudge(desk: Desk, panels: Panels, now: int) -> None:
        panels.nudge = nudge_cue(desk, by, panels.nudge, now)

    return nudge


def _listed(desk: Desk, panels: Panels, now: int) -> None:
    panels.proposals.is_open = False  # its list stands where that of the cues does
    take_keyboard(panels.cues, desk)


def _to_chosen(act: Callable[[CueRows, Desk], None]) -> Act:
    return lambda desk, panels, now: act(panels.cues, desk)


def _matched(desk: Desk, panels: Panels, now: int) -> None:
    match_picture(panels.matching, desk, panels.still.picture if panels.still else None)


def _evened(desk: Desk, panels: Panels, now: int) -> None:
    even_out(panels.matching, desk, panels.cues.frames)


def _all(desk: Desk, panels: Panels, now: int) -> None:
    choose_all(panels.cues, desk)


CUEING: Final = (
    Command("store_cue", "A new cue at the playhead.", done(Desk.store), is_here=True),
    Command("cue_on_run", "A cue where the picture was seen, less your reaction.", _on_run),
    Command("nudge_cue_back", "The cue a frame back.", _nudged(-1), repeats=True, is_here=True),
    Command("nudge_cue_on", "The cue a frame on.", _nudged(1), repeats=True, is_here=True),
    Command("cue_list", "The keys are the cue list's, and the desk's again.", _listed, is_for_sticks=False),
    Command("choose_all", "Choose all cues.", _all, is_for_sticks=False),
    Command("copy_grade", "Take the cue's grade for others, and to compare with.", done(copy)),
    Command("give_grade", "Give the copied grade, or this cue's, to all chosen.", _to_chosen(give)),
    Command("match", "The grade of the copied cue for this one, or of the one before.", done(match)),
    Command("average_chosen", "The mean of the chosen cues for each of them.", _to_chosen(average)),
    Command("carry_change", "The other chosen cues changed as this one was.", _to_chosen(carry)),
    Command("match_picture", "The picture matched to the still compared with, or the shot before.", _matched),
    Command("even_out", "The shots of the chosen cues evened out; again: leave off.", _evened),
    Command("tracks_here", "The tracks at the playhead off, or on again.", done(switch_here), is_here=True),
    Command("cue_here", "The nearest cue to the playhead.", done(cue_here), is_here=True),
)
