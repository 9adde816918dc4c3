"""What the survey proposes, as a person goes through it: what is listed, chosen, and done with it.

Nothing of it is saved but what is taken and what is refused, and each of these is one step to undo. A
proposal is previewed by making a reel of it that nobody keeps: the desk shows that one's settings meanwhile.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from lamphouse.graph.reel.counters import counter
from lamphouse.graph.reel.records import Reel
from lamphouse.graph.survey.proposal import Kind, Proposal, ordered
from lamphouse.graph.survey.refused import call_back, refuse
from lamphouse.graph.survey.take import Left, Taken, take_each
from lamphouse.graph.survey.words import hundredths, left_text
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.by_hand import follow_drag, return_home
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.keys import Press
from lamphouse.viewer.models.survey_rows import Key, LiveCues, Rows, Sureness, key_of, rows_of
from lamphouse.viewer.models.surveyed import SurveyAsked, Surveyed, SurveyFound
from lamphouse.viewer.models.transport import Transport

REMEMBERED: Final = (
    12  # states of the reel whose proposals are at hand again when a step is undone (our choice)
)
LEAST: Final = 0.2  # of the margin, as of the command
MOST: Final = 5.0
STEP: Final = 2**0.25  # of the margin, by a key
NOTHING_CHANGED: Final = "It changes nothing; refuse it to have it off the list."
MOVES: Final = {"up": -1, "down": 1, "page up": -8, "page down": 8}


@dataclass(slots=True)
class Proposals:
    """The list: what it shows, which proposal is chosen, and where the keyboard is."""

    is_open: bool = False
    is_asked: bool = False  # whether the scan is measured for it, and proposals made
    has_keyboard: bool = False
    presses: list[Press] = field(default_factory=list)
    margin: float = 1.0
    is_turned: bool = False  # whether a hand still turns the margin
    kind: Kind | None = None  # that is listed; None: every one
    sureness: Sureness = "all"
    found: SurveyFound | None = None  # what is proposed, of this state of the reel or of one before
    came: SurveyFound | None = None  # what a survey brought last, if only of a reel that is changed by now
    asked: SurveyAsked | None = None  # what was asked for last
    chosen: Key | None = None
    under: Proposal | None = None  # what the pointer is over, in this drawing
    pointed: Key | None = None  # the one under the pointer
    of: Reel | None = None  # the reel as it was then: a change of it ends the preview
    home: Transport | None = None  # how the film moved before the picture went to that
    brings: bool = False  # whether the chosen one is to be brought into sight
    live: LiveCues = field(default_factory=LiveCues)
    left: tuple[Reel, dict[Key, str]] | None = None  # why a reel does not take what was to be taken
    _before: list[SurveyFound] = field(default_factory=list)
    _listed: tuple[tuple[object, ...], Rows] = ((), Rows())
    _preview: tuple[Reel, Key, Taken] | None = None

    @property
    def reel_seen(self) -> Reel | None:
        """The reel that the proposals are of."""
        return None if self.found is None else self.found.asked.reel

    def takes(self, press: Press) -> bool:
        """Take a key of the list, where it has the keyboard, for its next drawing; say whether it is one."""
        if not (self.has_keyboard and self.is_open) or press.is_control or press.is_shift:
            return False
        if press.name not in {*MOVES, "home", "end", "enter", "delete", "escape"}:
            return False
        self.presses.append(press)
        return True

    def take(self, told: Surveyed) -> bool:
        """Take what a survey has brought; say whether that is anything new."""
        is_new = told.evidence is not None and told.evidence is not self.live.evidence
        if is_new:
            self.live.evidence = told.evidence
        if told.found is None or told.found is self.came:
            return is_new
        self.came = told.found
        if told.found.asked is self.asked:
            self.put(told.found)
        return True

    def put(self, found: SurveyFound) -> None:
        """Take what came for a reel, in place of what was there; what is yet to come stays as it was."""
        was = () if self.found is None else self.found.proposals
        kept = [one for one in was if one.kind not in found.looked_for]
        if kept:
            found = replace(found, proposals=ordered((*found.proposals, *kept)))
        self._before = [one for one in self._before if one.asked.reel is not found.asked.reel]
        self._before = [*self._before[1 - REMEMBERED :], found]
        self.found = found

    def recall(self, reel: Reel) -> None:
        """Have at hand again what was found for a reel that a step back or forward has brought."""
        if self.found is not None and self.found.asked.reel is not reel:
            self.found = next((one for one in self._before if one.asked.reel is reel), self.found)


def rows_now(held: Proposals, reel: Reel) -> Rows:
    """Return what is listed, in order of frame."""
    case = (held.found, held.live.evidence, held.margin, held.kind, held.sureness, reel.cues, reel.refused)
    if len(held._listed[0]) != len(case) or any(
        old is not new for old, new in zip(held._listed[0], case, strict=True)
    ):
        found = () if held.found is None else held.found.proposals
        found = held.live.laid_over(found, reel, held.margin)
        held._listed = case, rows_of(found, reel, held.kind, held.sureness)
    return held._listed[1]


def listed(held: Proposals, reel: Reel) -> tuple[Proposal, ...]:
    """Return the proposals that are listed, in order of frame."""
    return rows_now(held, reel).proposals


def chosen(held: Proposals, reel: Reel) -> Proposal | None:
    """Return the proposal that is chosen, while it is listed."""
    return rows_now(held, reel).of(held.chosen)


def previewed(held: Proposals, reel: Reel) -> Proposal | None:
    """Return the proposal that is previewed: the one under the pointer, else the chosen one."""
    if not held.is_open:
        return None
    return rows_now(held, reel).of(held.pointed) or chosen(held, reel)


def why_left(held: Proposals, reel: Reel, one: Proposal) -> str:
    """Return why the reel does not take a proposal, where that is known: it was tried, or is previewed."""
    key = key_of(one)
    if held.left is not None and held.left[0] is reel and key in held.left[1]:
        return held.left[1][key]
    if held._preview is not None and held._preview[0] is reel and held._preview[1] == key:
        return next((left.reason for left in held._preview[2].left), "")
    return ""


# What a person does in the list.


def open_or_close(held: Proposals, desk: Desk) -> None:
    """Open the list, give it the keys and have the scan measured; or put it away, and keep what is known."""
    held.is_open = held.has_keyboard = not held.is_open
    held.is_asked |= held.is_open
    if not held.is_open:
        let_go(held, desk)


def let_go(held: Proposals, desk: Desk) -> None:
    """Preview nothing any more."""
    held.chosen = held.pointed = None
    desk.preview(None)


def choose(held: Proposals, desk: Desk, proposal: Proposal, now: int) -> None:
    """Choose a proposal: the picture goes there and shows what taking it would make of it."""
    held.chosen, held.home, held.brings = key_of(proposal), None, True
    held.of = desk.reel
    desk.go_to(proposal.frame, now)


def step(held: Proposals, desk: Desk, by: int, now: int) -> None:
    """Choose the proposal so many after the chosen one, or before; without one, after the playhead."""
    rows = listed(held, desk.reel)
    if not rows:
        desk.troubles.say("Nothing is listed here." if held.is_open else "Open the survey: it proposes.")
        return
    held.is_open = True
    at = rows_now(held, desk.reel).at(held.chosen)
    if at is None:
        after = bisect_left(rows, desk.frame + (by < 0), key=lambda one: one.frame)
        at = after - 1 if by > 0 else after
    choose(held, desk, rows[max(0, min(at + by, len(rows) - 1))], now)


def press(held: Proposals, desk: Desk, key: Press, now: int) -> None:
    """Do what a key does in the list."""
    many = desk.reel.scan.frames
    if key.name in MOVES:
        step(held, desk, MOVES[key.name], now)
    elif key.name in ("home", "end"):
        step(held, desk, -many if key.name == "home" else many, now)
    elif key.name == "escape":
        held.has_keyboard = held.chosen is not None
        let_go(held, desk)
    elif key.name == "enter":
        take_chosen(held, desk, now)
    else:
        refuse_chosen(held, desk, now)


def point(held: Proposals, desk: Desk, proposal: Proposal | None, now: int) -> None:
    """Show the picture of what is under the pointer while the film stands, and then that of before again."""
    if proposal is not None and held.home is None and desk.transport.is_moving(now):
        return
    key = None if proposal is None else key_of(proposal)
    if key == held.pointed:
        return
    held.pointed, held.of = key, desk.reel
    if proposal is None:
        return_home(desk, held, now)
    else:
        follow_drag(desk, held, proposal.frame, now)


def take_chosen(held: Proposals, desk: Desk, now: int) -> None:
    """Take the chosen proposal; one that was refused is called back."""
    _done_to_chosen(held, desk, take_all, now)


def refuse_chosen(held: Proposals, desk: Desk, now: int) -> None:
    """Refuse the chosen proposal: it is not proposed again."""
    _done_to_chosen(held, desk, refuse_all, now)


def take_listed(held: Proposals, desk: Desk, now: int) -> None:
    """Take all that is listed and has room, as one step; what was refused is called back."""
    _done_to_listed(held, desk, take_all, "taken" if held.sureness != "refused" else "called back", now)


def refuse_listed(held: Proposals, desk: Desk, now: int) -> None:
    """Refuse all that is listed, as one step."""
    _done_to_listed(held, desk, refuse_all, "refused", now)


Done = Callable[[Proposals, Desk, Sequence[Proposal]], Taken | None]


def _done_to_chosen(held: Proposals, desk: Desk, do: Done, now: int) -> None:
    one = chosen(held, desk.reel)
    if one is None:
        desk.troubles.say("Choose a proposal first.")
        return
    at = rows_now(held, desk.reel).at(held.chosen) or 0
    done = do(held, desk, (one,))
    if done is None or done.left:
        return
    rows = listed(held, desk.reel)
    if rows:
        choose(held, desk, rows[min(at, len(rows) - 1)], now)
    else:
        held.chosen = None


def _done_to_listed(held: Proposals, desk: Desk, do: Done, word: str, now: int) -> None:
    rows = listed(held, desk.reel)
    if not rows:
        desk.troubles.say("Nothing is listed here.")
        return
    done = do(held, desk, rows)
    if done is None:
        return
    held.chosen = None
    if done.left:
        choose(held, desk, done.left[0].proposal, now)  # its reason is read below the list
    count = len(rows) - len(done.left)
    if count:
        are, stays = (
            "proposal is" if count == 1 else "proposals are",
            "stays" if len(done.left) == 1 else "stay",
        )
        left = f"; {len(done.left)} cannot be and {stays} in the list with the reason" if done.left else ""
        desk.troubles.say(f"{count} {are} {word} in one step, and undo takes it back{left}.")


def take_all(held: Proposals, desk: Desk, proposals: Sequence[Proposal]) -> Taken | None:
    """Take proposals, or call back those that were refused; return what became of it, None for nothing."""
    if held.sureness == "refused":
        return _edited(held, desk, proposals, lambda reel: Taken(call_back(reel, proposals), ()))
    return _edited(held, desk, proposals, lambda reel: take_each(desk.opened.with_reel(reel), proposals))


def refuse_all(held: Proposals, desk: Desk, proposals: Sequence[Proposal]) -> Taken | None:
    """Refuse proposals; return what became of it, None for nothing."""
    if held.sureness == "refused":
        desk.troubles.say("These are refused already; call them back to have them proposed.")
        return None
    return _edited(held, desk, proposals, lambda reel: Taken(refuse(reel, proposals), ()))


def _edited(
    held: Proposals, desk: Desk, proposals: Sequence[Proposal], edit: Callable[[Reel], Taken]
) -> Taken | None:
    """Take an edit as one step; what was done is off the list at once, before the survey is made anew."""
    before, done = desk.reel, list[Taken]()

    def edited(reel: Reel) -> Reel:
        done.append(edit(reel))
        return done[-1].reel

    desk.preview(None)
    desk.edit(edited)
    if not done:
        return None
    left = done[-1].left
    held.left = desk.reel, {key_of(one.proposal): one.reason for one in left}
    if desk.reel is before:
        words = left_text(left[0], counter(before)) if left else NOTHING_CHANGED
        desk.message = desk.message or words
        return done[-1] if left else None
    if held.found is not None:
        gone = {key_of(one) for one in proposals} - set(held.left[1])
        rest = tuple(one for one in held.found.proposals if key_of(one) not in gone)
        held.put(SurveyFound(SurveyAsked(desk.reel, held.margin), rest))
    return done[-1]


# What follows from it, turn by turn.


def turn_margin(held: Proposals, to: float, *, is_turned: bool = False) -> None:
    """Set the margin: larger for fewer cuts, which follow at once, and all else once no hand turns it."""
    held.margin, held.is_turned = min(max(to, LEAST), MOST), is_turned


def show_preview(held: Proposals, desk: Desk) -> None:
    """Have the desk show the reel that taking what is previewed would make, or its own."""
    held.recall(desk.reel)
    one = previewed(held, desk.reel)
    if one is None or held.sureness == "refused" or held.of is not desk.reel:
        desk.preview(None)
        return
    key = key_of(one)
    if held._preview is None or held._preview[0] is not desk.reel or held._preview[1] != key:
        held._preview = desk.reel, key, _made(desk, one)
    made = held._preview[2]
    desk.preview(None if made.left else made.reel)


def _made(desk: Desk, proposal: Proposal) -> Taken:
    """Return the reel with a proposal taken, or why it cannot be."""
    try:
        return take_each(desk.opened, (proposal,))
    except BadInput as error:  # of the chain
        return Taken(desk.reel, (Left(proposal, str(error)),))


def to_ask(held: Proposals, reel: Reel, *, is_resting: bool) -> SurveyAsked | None:
    """Return the survey that is wanted now; None where none is. What a hand still changes waits."""
    if not held.is_asked:
        return None
    is_new = held.asked is None or held.asked.reel is not reel or held.asked.margin != held.margin
    if is_new and ((is_resting and not held.is_turned) or held.asked is None):
        held.asked = SurveyAsked(reel, held.margin)
    return held.asked


def sure_text(proposal: Proposal) -> str:
    """Return how sure a proposal is: `sure, 0.93`."""
    return f"{'sure' if proposal.is_sure else 'unsure'}, {hundredths(proposal.sure):.2f}"
