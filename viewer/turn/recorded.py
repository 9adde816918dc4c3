"""What a turn takes from work under way, and what it asks to have made ready of it."""

from __future__ import annotations

from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.inserting import joins_case, stale_case
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.record_asked import RecordAsked, RecordFound
from lamphouse.viewer.models.recording import follow


def takes(desk: Desk, panels: Panels, found: RecordFound | None, now: int) -> bool:
    """Take what the work has said and what has been made ready; say whether there was anything."""
    recording = panels.recording
    is_new = follow(desk, recording, now)
    is_new |= recording.browser is not None and recording.browser.take_news()
    if found is None:
        return is_new
    if found.stale is not None:
        recording.stale = found.stale
        recording.master = recording.master or found.stale.master
    if found.joins is not None:
        recording.joins = found.joins
    return True


def asked(desk: Desk, panels: Panels, now: int) -> RecordAsked:
    """Return what is asked for now; while a hand holds something or the film moves nothing is found anew."""
    recording, is_shown = panels.recording, panels.page == "record"
    pair = recording.job.pair if is_shown and recording.job is not None else None
    if panels.drag is None and not desk.transport.is_moving(now):
        recording.asked = stale_case(desk, recording)
    joins = joins_case(desk, recording) if is_shown and recording.side == "insert" else None
    return RecordAsked(pair, recording.asked, joins)
