"""The picture of a cue matched to another at the desk, and several evened out, while a person works on.

What is found is set as one step once it comes, unless the cues that it is for have been changed by then.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from typing import Final, Protocol

from lamphouse.graph.edits.cues import cue_at
from lamphouse.graph.reel.records import Reel
from lamphouse.viewer.jobs.child import Order
from lamphouse.viewer.jobs.matching import Even, Found, Match
from lamphouse.viewer.jobs.said import Ended, Given, Message, Progress
from lamphouse.viewer.jobs.work import Work
from lamphouse.viewer.models.chosen import SEVERAL, other
from lamphouse.viewer.models.comparison import STILL
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.scanned import smaller
from lamphouse.viewer.models.seen import Picture

LEAST: Final = 36, 48  # rows and columns of a still that is sent: twice what is looked at (our choice)
LITTLE: Final = 0.5  # of a shot that the other shows as well: less is said (our choice)


class Running(Protocol):
    """Work under way: see `Work`."""

    def news(self) -> list[Message]:
        """Return what has been said since the last call."""

    def kill(self) -> None:
        """End it at once."""


@dataclass(frozen=True, slots=True, eq=False)
class Asked:
    """What is matched: cues by their frames, in the reel as it was, and what is said once it is done."""

    reel: Reel
    frames: tuple[int, ...]
    done: str
    order: Order


@dataclass(slots=True)
class Matching:
    """What is being matched, if anything. `begin` and `wake` are the window's."""

    begin: Callable[[Order, Callable[[], None]], Running] = Work
    wake: Callable[[], None] = lambda: None
    words: str = ""  # how far it is
    _asked: Asked | None = None
    _work: Running | None = None
    _found: Found | None = None

    def ask(self, asked: Asked) -> None:
        """Begin it, in place of what is under way."""
        self.close()
        self._asked, self.words = asked, "matching"
        self._work = self.begin(asked.order, self.wake)

    def close(self) -> bool:
        """Leave off; say whether anything was under way. Nothing is half-made."""
        work, self._work, self._asked, self._found, self.words = self._work, None, None, None, ""
        if work is not None:
            work.kill()
        return work is not None

    def follow(self, desk: Desk) -> bool:
        """Take what was said, and set what was found; say whether there was anything."""
        news = [] if self._work is None else self._work.news()
        for message in news:
            if isinstance(message, Progress):
                read = 100 * message.done // max(1, message.total)
                self.words = f"matching, {read} % read" if message.done < message.total else "matching"
            elif isinstance(message, Given) and isinstance(message.what, Found):
                self._found = message.what
            elif isinstance(message, Ended):
                self._end(desk, message)
        return bool(news)

    def _end(self, desk: Desk, ended: Ended) -> None:
        asked, found = self._asked, self._found
        self._work, self._asked, self._found, self.words = None, None, None, ""
        if asked is None or found is None:
            desk.message = ended.sentence
        else:
            _set(desk, asked, found)


def match_picture(matching: Matching, desk: Desk, still: Picture | None) -> None:
    """Match the cue that holds to the still, while that is compared with, else to another shot; or leave off.

    The other shot is that of the copied or chosen cue, else the one before, as for taking its grade.
    """
    if matching.close():
        desk.troubles.say("Matching is left off; nothing is changed.")
        return
    cue = desk.holding
    if cue is None:
        desk.message = "No cue holds here; put one at the beginning of the shot, then match it."
    elif desk.comparison.kind == STILL and still is not None:
        _ask(
            matching,
            desk,
            cue.frame,
            "the stored still",
            Match(desk.reel_file, desk.reel, cue.frame, _small(still)),
        )
    elif (to := other(desk, cue)) is None or to is cue:
        desk.message = (
            "There is no shot before this one; compare with a stored still, or copy a cue to match."
        )
    else:
        is_copied = desk.comparison.other is not None
        goal = f"the shot at {desk.readings(to.frame).timecode}" if is_copied else "the shot before"
        _ask(matching, desk, cue.frame, goal, Match(desk.reel_file, desk.reel, cue.frame, to.frame))


def _ask(matching: Matching, desk: Desk, frame: int, goal: str, order: Match) -> None:
    place = desk.readings(frame).timecode
    frames = (frame, order.to) if isinstance(order.to, int) else (frame,)
    matching.ask(Asked(desk.reel, frames, f"The shot at {place} is matched to {goal}", order))


def even_out(matching: Matching, desk: Desk, chosen: Collection[int]) -> None:
    """Even out the shots of the chosen cues; or leave off."""
    if matching.close():
        desk.troubles.say("Matching is left off; nothing is changed.")
    elif len(chosen) < SEVERAL:
        desk.message = (
            "Choose the cues of a scene in the list, with Control or Shift, to even out their shots."
        )
    else:
        frames = tuple(sorted(chosen))
        order = Even(desk.reel_file, desk.reel, frames)
        matching.ask(Asked(desk.reel, frames, f"{len(frames)} shots are evened out", order))


def _set(desk: Desk, asked: Asked, found: Found) -> None:
    """Set what was found, as one step, and say the distance before and after."""
    from lamphouse.graph.survey.matching.match import EVEN_ALREADY
    from lamphouse.graph.survey.matching.shots import with_settings

    reel = desk.reel
    if reel.chain != asked.reel.chain or any(
        _settings(reel, frame) != _settings(asked.reel, frame) for frame in asked.frames
    ):
        desk.message = "A cue was changed while it was matched, so nothing is set; match it again."
        return
    if not found.settings:
        desk.troubles.say(EVEN_ALREADY)
        return
    desk.edit(lambda now: with_settings(now, found.settings, desk.controls))
    if desk.reel is not reel:
        what = "largest step" if len(found.settings) > 1 else "distance"
        shared = f", over the {found.common:.0%} of it that both show" if found.common < LITTLE else ""
        apart = f"{what} {found.before:.2f} before, {found.after:.2f} after{shared}"
        views = f", each of {found.views} views by itself" if found.views > 1 else ""
        without = "without a picture or another shot of their view"
        alone = f"; {found.alone} of them, {without}, stayed as before" if found.alone else ""
        desk.troubles.say(f"{asked.done}{views}: {apart}{alone}; undo takes it back.")


def _small(still: Picture) -> Picture:
    """Return a still so small that the pipe to a process which is only beginning takes it without waiting."""
    _, rows, columns = still.shape
    return smaller(still, max(1, min(rows // LEAST[0], columns // LEAST[1])))


def _settings(reel: Reel, frame: int) -> object:
    cue = cue_at(reel, frame)
    return None if cue is None else cue.settings
