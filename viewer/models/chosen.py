"""The cues that are chosen in the list, what is done to all of them, and the list's own keys."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Final

from lamphouse.graph.edits import several
from lamphouse.graph.edits.cues import cue_at
from lamphouse.graph.reel.records import Cue, Reel
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.keys import Press

SEVERAL: Final = 2


@dataclass(slots=True)
class CueRows:
    """The list: which cues are chosen, by their frames, and where the keyboard and the eye are in it.

    Fewer than two are not several: then what is done concerns the cue that holds.
    """

    frames: frozenset[int] = frozenset()
    anchor: int | None = None  # where a row of chosen cues began
    begun: Reel | None = None  # the reel as it was when they were, from which changes are carried
    seen: Reel | None = None  # the reel whose frames these are
    cursor: int | None = None  # the cue that the keyboard is at
    has_keyboard: bool = False
    presses: list[Press] = field(default_factory=list)
    holding: int | None = None  # the cue that the list was last scrolled to
    is_scrolled: bool = False  # whether the person has scrolled it elsewhere since
    nodes: frozenset[str] = frozenset()  # whose settings are given; none: all
    name: str = ""  # what is being typed as the name of several

    @property
    def are_several(self) -> bool:
        """Whether more than one cue is chosen."""
        return len(self.frames) >= SEVERAL

    def follow(self, reel: Reel) -> None:
        """Let the chosen cues be those that they were, also where one moved, without those that are gone."""
        if reel is self.seen:
            return
        now = {cue.frame for cue in reel.cues}
        gone = self.frames - now
        came = now - {cue.frame for cue in self.seen.cues} if self.seen and len(gone) == 1 else set()
        self.frames = (self.frames & now) | (frozenset(came) if len(came) == 1 else frozenset())
        self.seen = reel
        if not self.are_several:
            self.begun = None
        if self.cursor not in now:
            self.cursor = None

    def choose(self, frames: frozenset[int], reel: Reel) -> None:
        """Choose these cues."""
        if not self.are_several or len(frames) < SEVERAL:
            self.begun = reel
        self.frames = frames

    def takes(self, press: Press) -> bool:
        """Take a key of the list, where it has the keyboard, for its next drawing; say whether it is one."""
        if not self.has_keyboard or not is_of_list(press):
            return False
        self.presses.append(press)
        return True


MOVES: Final = {"up": -1, "down": 1, "page up": -8, "page down": 8}


def is_of_list(press: Press) -> bool:
    """Say whether a key moves in the list or does something to its cues."""
    plain = {*MOVES, "home", "end", "space", "enter", "delete", "escape"}
    return press.name in plain if not press.is_control else press.name in ("space", "a")


def click(rows: CueRows, desk: Desk, frame: int, *, adds: bool = False, spans: bool = False) -> bool:
    """Choose a cue, add or take it away with Control, all up to it with Shift; say whether to go there."""
    held = desk.holding
    before = rows.frames if rows.are_several else frozenset([held.frame] if held else [])
    if spans:
        first = rows.anchor if rows.anchor is not None and rows.are_several else held.frame if held else frame
        low, high = sorted((first, frame))
        chosen = frozenset(cue.frame for cue in desk.reel.cues if low <= cue.frame <= high)
        rows.choose(chosen | before if adds else chosen, desk.reel)
        rows.anchor = first
        return False
    rows.anchor = rows.cursor = frame
    rows.choose(before ^ {frame} if adds else frozenset([frame]), desk.reel)
    return not adds


def choose_all(rows: CueRows, desk: Desk) -> None:
    """Choose every cue."""
    rows.choose(frozenset(cue.frame for cue in desk.reel.cues), desk.reel)


def choose_none(rows: CueRows) -> None:
    """Choose none: what is done concerns the cue that holds."""
    rows.frames, rows.begun = frozenset(), None


def press(rows: CueRows, desk: Desk, key: Press, now: int) -> None:
    """Do what a key does in the list."""
    if key.name in MOVES or key.name in ("home", "end"):
        _move(rows, desk, key)
    elif key.name == "a":
        choose_all(rows, desk)
    elif key.name == "escape":
        rows.has_keyboard = rows.are_several
        choose_none(rows)
    elif key.name == "delete":
        remove(rows, desk)
    elif rows.cursor is not None and key.name == "space":
        click(rows, desk, rows.cursor, adds=True)
    elif rows.cursor is not None and key.name == "enter" and click(rows, desk, rows.cursor):
        desk.go_to(rows.cursor, now)


def take_keyboard(rows: CueRows, desk: Desk) -> None:
    """Let the keys be the list's, or the desk's again."""
    rows.has_keyboard = not rows.has_keyboard
    held = desk.holding
    rows.cursor = held.frame if held else None
    rows.is_scrolled = False


def _move(rows: CueRows, desk: Desk, key: Press) -> None:
    cues: Sequence[Cue] = desk.cues.cues
    if not cues:
        return
    at = bisect_left(cues, -1 if rows.cursor is None else rows.cursor, key=lambda cue: cue.frame)
    to = {"home": 0, "end": len(cues) - 1}.get(key.name, at + MOVES.get(key.name, 0))
    rows.cursor = cues[max(0, min(to, len(cues) - 1))].frame
    if key.is_shift:
        click(rows, desk, rows.cursor, spans=True)


# What is done to all that are chosen, each one step to undo.


def source(desk: Desk) -> Cue | None:
    """Return the cue whose grade is given: the copied one, while it is there, else the one that holds."""
    frame = desk.comparison.copied
    copied = None if frame is None else cue_at(desk.reel, frame)
    return copied or desk.holding


def other(desk: Desk, cue: Cue) -> Cue | None:
    """Return the cue that `cue` is matched with: the chosen one, while it is there, else the one before."""
    if desk.comparison.other is not None:
        found = cue_at(desk.reel, desk.comparison.other)
        if found is not None:
            return found
        desk.comparison.other = None
    before = desk.cues.holding(cue.frame - 1)
    return None if before is None else desk.cues.cues[before]


def copy(desk: Desk) -> None:
    """Take the cue that holds for others to be given its grade, to match it, and to compare with."""
    cue = desk.holding
    if cue is not None:
        desk.comparison.copied = desk.comparison.other = cue.frame


def match(desk: Desk) -> None:
    """Give the cue that holds the grade of the copied or chosen one, else of the one before."""
    cue = desk.holding
    found = None if cue is None else other(desk, cue)
    if found is not None:
        desk.match(found)


def give(rows: CueRows, desk: Desk) -> None:
    """Give the chosen cues one grade, all of it or of some nodes; without several, the one here."""
    cue, held = source(desk), desk.holding
    if cue is None or held is None:
        return
    frames = rows.frames if rows.are_several else frozenset([held.frame])
    desk.edit(lambda reel: several.give_grade(reel, frames, cue.settings, desk.controls, rows.nodes))


def average(rows: CueRows, desk: Desk) -> None:
    """Give the chosen cues their mean."""
    desk.edit(lambda reel: several.average(reel, rows.frames, desk.controls))


def changed(rows: CueRows, desk: Desk) -> tuple[Cue, Cue] | None:
    """Return the cue that holds as it was when several were chosen, and as it is, where its grade changed."""
    now = desk.holding
    before = cue_at(rows.begun, now.frame) if now and rows.begun else None
    if now is None or before is None or before.settings == now.settings:
        return None
    return before, now


def carry(rows: CueRows, desk: Desk) -> None:
    """Carry what was changed of the cue that holds, since several were chosen, over to the others of them."""
    found = changed(rows, desk)
    if found is None:
        desk.message = (
            "Nothing of this cue has changed since these were chosen; change it, then carry that over."
        )
        return
    others = rows.frames - {found[1].frame}
    desk.edit(lambda reel: several.carry(reel, others, *found, desk.controls))
    rows.begun = desk.reel


def reset(rows: CueRows, desk: Desk) -> None:
    """Set the chosen cues back to neutral."""
    _to_all(rows, desk, several.reset)


def remove(rows: CueRows, desk: Desk) -> None:
    """Remove the chosen cues, or where these are not several, the keyboard's, or the one that holds."""
    held = rows.cursor if rows.has_keyboard else None if desk.holding is None else desk.holding.frame
    frames = rows.frames if rows.are_several else frozenset() if held is None else frozenset([held])
    if frames:
        desk.edit(lambda reel: several.remove(reel, frames, desk.controls))


def rename(rows: CueRows, desk: Desk) -> None:
    """Name the chosen cues as was typed, with 1, 2, 3; where nothing was, take their names away."""
    desk.edit(lambda reel: several.rename(reel, rows.frames, rows.name, desk.controls))


def _to_all(rows: CueRows, desk: Desk, edit: Callable[..., Reel]) -> None:
    desk.edit(lambda reel: edit(reel, rows.frames, desk.controls))
