"""The record page: a pass, an insert, and what is done with a finished master."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, get_args

from lamphouse.viewer.models import found
from lamphouse.viewer.models import recording as page
from lamphouse.viewer.models.commands.command import Act, Command
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.inserting import TAKES, wanted
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.recording import Recording, Side

SIDES: Final[tuple[Side, ...]] = get_args(Side)


def _page(desk: Desk, panels: Panels, now: int) -> None:
    panels.page = "grade" if panels.page == "record" else "record"


def _on_page(do: Callable[[Desk, Recording, int], object], side: Side | None = None) -> Act:
    """Return what does something on the record page, which is opened first: nothing begins unseen."""

    def act(desk: Desk, panels: Panels, now: int) -> None:
        recording = panels.recording
        is_seen = panels.page == "record" and (side in (None, recording.side) or recording.is_at_work)
        panels.page = "record"
        if side is not None and not recording.is_at_work:
            recording.side = side
        if is_seen:
            do(desk, recording, now)

    return act


def _insert(desk: Desk, recording: Recording, now: int) -> None:
    page.begin_insert(desk, recording, wanted(desk, recording), now)


def _side(desk: Desk, recording: Recording, now: int) -> None:
    recording.side = SIDES[(SIDES.index(recording.side) + 1) % len(SIDES)]


def _delivery(by: int) -> Callable[[Desk, Recording, int], object]:
    return lambda desk, recording, now: recording.choice.step(desk, by)


def _ends(desk: Desk, recording: Recording, now: int) -> None:
    recording.choice.is_marked = not recording.choice.is_marked


def _takes(desk: Desk, recording: Recording, now: int) -> None:
    recording.takes = TAKES[(TAKES.index(recording.takes) + 1) % len(TAKES)]
    recording.run = 0


def _next_run(desk: Desk, recording: Recording, now: int) -> None:
    recording.run += 1


def _keeps(desk: Desk, recording: Recording, now: int) -> None:
    recording.keeps_old = not recording.keeps_old


def _compared(desk: Desk, panels: Panels, now: int) -> None:
    if page.compare_with_master(desk, panels.recording):
        panels.page = "grade"


def _to_next(desk: Desk, panels: Panels, now: int) -> None:
    found.go_to_next(desk, panels.recording, now)


def _command(name: str, sentence: str, act: Act, *, works_in_field: bool = False) -> Command:
    return Command(name, sentence, act, works_in_field=works_in_field, is_for_sticks=False)


RECORDING: Final = (
    _command("record_page", "The page to record a master, and back.", _page, works_in_field=True),
    _command(
        "record", "Begin the pass; at work, stop it.", _on_page(page.record, "pass"), works_in_field=True
    ),
    _command("record_go_on", "Leave all as it is, where the page asks.", _on_page(page.go_on)),
    _command("discard_left", "Throw away what a pass has left, and begin anew.", _on_page(page.discard_left)),
    _command("record_side", "A whole pass, an insert, or a finished master.", _on_page(_side)),
    _command("next_delivery", "The next delivery of the list.", _on_page(_delivery(1))),
    _command("previous_delivery", "The delivery before it.", _on_page(_delivery(-1))),
    _command("record_marked", "All of the reel, or from in to out.", _on_page(_ends)),
    _command("insert", "Make the chosen frames of the master anew.", _on_page(_insert, "insert")),
    _command("record_browse", "Look through folders for a master, or for its place.", _on_page(page.browse)),
    _command("insert_takes", "An insert of what is stale, of the cue, or from in to out.", _on_page(_takes)),
    _command("insert_next", "The joins of the next run of frames.", _on_page(_next_run)),
    _command("insert_keeps", "Keep the old master beside the new one, or not.", _on_page(_keeps)),
    _command("prove_master", "Hold the master against its record and the reel.", _on_page(page.begin_proof)),
    _command("check_master", "Look for levels, flashes, blanks, sound and tags.", _on_page(page.begin_check)),
    _command("report_master", "Write the report of the master.", _on_page(page.begin_report)),
    _command("compare_master", "Compare the picture with the master.", _compared),
    _command("go_to_fault", "The next frame of the master at which something was found.", _to_next),
)
