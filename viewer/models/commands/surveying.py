"""The survey: what it proposes, gone through, taken and refused."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from lamphouse.graph.survey.proposal import KINDS
from lamphouse.viewer.models import proposals as page
from lamphouse.viewer.models.commands.command import Act, Command
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.proposals import STEP, Proposals
from lamphouse.viewer.models.survey_rows import SURENESS


def _survey(desk: Desk, panels: Panels, now: int) -> None:
    page.open_or_close(panels.proposals, desk)
    panels.page, panels.cues.has_keyboard = "grade", False
    panels.focus.take_back()


def _measured(desk: Desk, panels: Panels, now: int) -> None:
    panels.proposals.is_asked = not panels.proposals.is_asked


def _stepped(by: int) -> Act:
    return lambda desk, panels, now: page.step(panels.proposals, desk, by, now)


def _one(act: Callable[[Proposals, Desk, int], None]) -> Act:
    return lambda desk, panels, now: act(panels.proposals, desk, now)


def _next_kind(desk: Desk, panels: Panels, now: int) -> None:
    kinds = (None, *KINDS)
    panels.proposals.kind = kinds[(kinds.index(panels.proposals.kind) + 1) % len(kinds)]


def _next_sureness(desk: Desk, panels: Panels, now: int) -> None:
    at = SURENESS.index(panels.proposals.sureness)
    panels.proposals.sureness = SURENESS[(at + 1) % len(SURENESS)]


def _margin(by: float) -> Act:
    return lambda desk, panels, now: page.turn_margin(panels.proposals, panels.proposals.margin * by)


def _command(name: str, sentence: str, act: Act, *, works_in_field: bool = False) -> Command:
    return Command(name, sentence, act, works_in_field=works_in_field, is_for_sticks=False)


SURVEYING: Final = (
    _command(
        "survey",
        "What the survey proposes, once the scan is measured; and away.",
        _survey,
        works_in_field=True,
    ),
    _command("measure_scan", "Measure the scan for the survey, or leave off; what is done stays.", _measured),
    Command("next_proposal", "The next proposal, previewed.", _stepped(1), repeats=True),
    Command("previous_proposal", "The proposal before, previewed.", _stepped(-1), repeats=True),
    Command(
        "take_proposal", "Take the chosen proposal; call one back that was refused.", _one(page.take_chosen)
    ),
    Command(
        "refuse_proposal", "Refuse the chosen proposal; it is not proposed again.", _one(page.refuse_chosen)
    ),
    _command("take_listed", "Take all proposals that are listed.", _one(page.take_listed)),
    _command("refuse_listed", "Refuse all proposals that are listed.", _one(page.refuse_listed)),
    _command("proposal_kinds", "The next kind of proposals alone, then every kind.", _next_kind),
    _command(
        "proposal_sureness", "Proposals that are sure, those that are not, refused ones; all.", _next_sureness
    ),
    Command("fewer_cuts", "The survey's margin wider: fewer cuts.", _margin(STEP), repeats=True),
    Command("more_cuts", "The survey's margin narrower: more cuts.", _margin(1 / STEP), repeats=True),
)
