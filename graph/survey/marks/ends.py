"""Where the picture of a scan starts and ends: what lies outside is leader, and nothing to be graded."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lamphouse.graph.survey.changes.leaders import leaders

if TYPE_CHECKING:
    from lamphouse.graph.media.statistics.statistics import Statistics


def picture_range(statistics: Statistics) -> tuple[int, int]:
    """Return the frames [first, stop) of the picture: all without leaders, none if there is but leader."""
    ends = leaders(statistics.rows["small"])
    return ends.head, ends.tail
