"""Marks, by hand."""

from __future__ import annotations

from typing import Final

from lamphouse.viewer.models.commands.command import Command, done, timed
from lamphouse.viewer.models.ends import mark_in, mark_out
from lamphouse.viewer.models.marking import go_to_head, go_to_mark, mark_here, mark_soft, unmark, zero_here

MARKING: Final = (
    Command("mark", "Mark the frame.", done(mark_here), is_here=True),
    Command("soft_shot", "The shot is soft, out of focus.", done(mark_soft), is_here=True),
    Command("flag", "Flag the frame to look at again.", done(mark_here, "check"), is_here=True),
    Command("unmark", "Take out the mark.", done(unmark), is_here=True),
    Command("previous_mark", "The mark before.", timed(go_to_mark, -1), repeats=True),
    Command("next_mark", "The next mark.", timed(go_to_mark, 1), repeats=True),
    Command("mark_in", "In: the stretch to be made begins here.", done(mark_in), is_here=True),
    Command("mark_out", "Out: the stretch to be made ends here.", done(mark_out), is_here=True),
    Command("head_mark", "The head mark.", timed(go_to_head)),
    Command("zero", "Zero the counters here.", done(zero_here), is_here=True, is_for_sticks=False),
)
