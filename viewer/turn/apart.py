"""What processes apart make for the desk, followed turn by turn: the working copy, the survey, a match."""

from __future__ import annotations

from dataclasses import replace

from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.proposals import to_ask
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.turn.display import Display


def copied(desk: Desk, panels: Panels, display: Display) -> str:
    """Have the working copy made, or leave off; return how far it has come."""
    found = display.follow_copy(panels.copying.wanted, desk.frame)
    desk.troubles.put("copy", found.reason)
    return found.words


def surveyed(
    desk: Desk, panels: Panels, display: Display, seen: Seen, *, is_resting: bool
) -> tuple[Seen, bool]:
    """Ask for the survey of the reel, once nobody changes that, and take what has come of it.

    Returns what is seen, with how far the scan is measured, and whether anything is new.
    """
    held = panels.proposals
    told = display.follow_survey(to_ask(held, desk.reel, is_resting=is_resting and panels.drag is None))
    desk.troubles.put("survey", told.reason)
    is_new = held.take(told) or told.words != seen.surveyed
    return replace(seen, surveyed=told.words), is_new


def matched(desk: Desk, panels: Panels, seen: Seen) -> tuple[Seen, bool]:
    """Take what has come of a match; return what is seen, with how far it is, and whether anything is new."""
    is_new = panels.matching.follow(desk)
    return replace(seen, matched=panels.matching.words), is_new
