"""What one turn of the desk has to do: read, draw, count, poll, keep, at which raster, and how long to sleep.

Pure functions of the time, of what the desk holds and of what has been read; no window and no GL. What is
shown is one fact: the frame that was read last. Its grade, the counters and the place of a new cue are that
frame's, also while another is still being read.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from lamphouse.graph.reel.records import ChainRef, Reel
from lamphouse.nodes.values import Settings
from lamphouse.viewer.models.judged import Judgement
from lamphouse.viewer.models.transport import Due
from lamphouse.viewer.turn.wishes import Answer, Wish

MILLISECOND: Final = 1_000_000  # nanoseconds
AFTER_NEWS: Final = 2  # turns until panels that show something else have found their places
SETTLING: Final = 5  # turns that ImGui takes to come to rest after an event: a list that opens takes most
LONGEST: Final = 1000 * MILLISECOND  # that the desk sleeps at most
PROXY_FROM: Final = 1300  # pixels of width from which a moving picture is read at half the raster
RUNNING: Final = 10  # pictures a second from which on each that comes draws the panels anew (our choice)
LONGEST_UNDRAWN: Final = 200 * MILLISECOND  # that panels stand still where none of them comes
REST: Final = 250 * MILLISECOND  # without a change after which the whole raster is read
BETWEEN: Final = 120 * MILLISECOND  # from one counting of the scopes to the next while a hand turns something
BETWEEN_IN_PLAY: Final = 2 * BETWEEN  # and while the film runs, when the picture comes first
STICKS: Final = 20 * MILLISECOND  # from one look at the sticks to the next while some are there
KEPT_AT_REST: Final = 700 * MILLISECOND  # without a change after which what is not saved is kept
KEPT_EVERY: Final = 4000 * MILLISECOND  # between keepings while work goes on: a kill takes 5 seconds at most

Region = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Sight:
    """The frame that is seen, and what divides its rasters, the finest first; none where it is unreadable."""

    frame: int
    divides: tuple[int, ...]
    number: int  # of all that were read: two frames may have the same settings
    is_copy: bool = False  # whether it is of the working copy, as only a moving one may be


@dataclass(frozen=True, slots=True)
class Drawing:
    """A grade to be drawn, or drawn: all on which the picture depends."""

    sight: Sight
    settings: Settings | None  # None: as scanned
    chain: ChainRef
    divide: int
    pixel_aspect: str = "1"  # of the scan


@dataclass(frozen=True, slots=True)
class Facts:
    """What the desk holds and the panels ask for, as far as a turn is decided by it."""

    due: Due
    is_moving: bool
    next_due: int | None  # nanoseconds until another frame is due
    reel: Reel
    settings: Settings  # at the frame that is seen
    is_unkept: bool = False  # whether there is work that neither the reel's file nor the recovery file holds
    region: Region | None = None  # what the scopes count
    judgement: Judgement | None = None  # of which they count the picture, in place of the grade
    strip: tuple[int, ...] = ()  # the frames of the strip's small pictures
    has_sticks: bool = False
    patience: int | None = None  # nanoseconds that a command still waits for its frame to be seen
    is_running: bool = False  # whether pictures follow each other so soon that they alone are drawn


@dataclass(frozen=True, slots=True)
class Turn:
    """What one turn leaves to the next."""

    wish: Wish | None = None
    moved_at: int = 0  # when another frame was last wished for
    sight: Sight | None = None
    settings: tuple[int, Settings] | None = None  # the frame last drawn, and its settings
    turned_at: int = -REST  # when the settings of one frame last changed
    drawn: Drawing | None = None
    counted: tuple[Drawing, Region | None, Judgement | None] | None = None
    counted_at: int = 0
    is_counted_in_play: bool = False  # while the film ran, when what comes may be of a picture before
    is_late: bool = False  # whether the scopes are of something else than what is shown, or were just now
    late_at: int = -BETWEEN  # when they last were
    strip: tuple[tuple[int, ...], Reel] | None = None
    is_strip_old: bool = False  # whether another small picture has been read since
    reel: Reel | None = None
    changed_at: int = 0  # when the reel last changed
    kept: Reel | None = None  # what the recovery file was last written for
    kept_at: int = 0
    polled_at: int | None = None
    settling: int = SETTLING
    drawn_at: int = 0  # when the panels were last drawn


@dataclass(frozen=True, slots=True)
class Todo:
    """What has to be done in a turn; None and False: nothing."""

    read: Wish | None = None
    draw: Drawing | None = None
    strip: tuple[int, ...] | None = None
    keeps: bool = False
    measures: bool = False  # whether the transition that ends on the cue is to be measured


def stirred(turn: Turn, turns: int = SETTLING) -> Turn:
    """Return the turn after something happened: the panels are drawn until they have come to rest."""
    return replace(turn, settling=max(turn.settling, turns))


def stirs(turn: Turn, facts: Facts, now: int, *, is_woken: bool, has_news: bool, has_seen: bool) -> Turn:
    """Return the turn after what has come: an event, news of any kind, another picture.

    While the film runs the time is the pictures': whatever else is new is drawn with the next.
    """
    if facts.is_running:
        is_still = now - turn.drawn_at >= LONGEST_UNDRAWN
        return stirred(turn, 1) if is_woken or has_seen or is_still else turn
    turn = stirred(turn) if is_woken else turn
    return stirred(turn, AFTER_NEWS) if has_news else turn


def sees(turn: Turn, answer: Answer) -> Turn:
    """Return the turn with what was read as what is seen, also where that is an error."""
    number = turn.sight.number + 1 if turn.sight else 0
    found, frame = answer.found, answer.wish.frame
    sight = Sight(frame, (), number) if found is None else Sight(frame, found.divides, number, found.is_copy)
    return replace(turn, sight=sight, drawn=None)


def shown_frame(turn: Turn, due: Due) -> int:
    """Return the frame that the counters show and that a change belongs to."""
    return turn.sight.frame if turn.sight else due.frame


def is_behind(turn: Turn, due: Due, *, is_moving: bool) -> bool:
    """Say whether the desk stands at a frame that is not seen yet."""
    sight = turn.sight
    return not is_moving and (sight is None or sight.frame != due.frame or sight.is_copy)


def polls(turn: Turn, now: int, *, has_sticks: bool) -> tuple[Turn, bool]:
    """Say whether it is time to look at the sticks, whatever else happens."""
    is_time = turn.polled_at is None or now - turn.polled_at >= (STICKS if has_sticks else LONGEST)
    return (replace(turn, polled_at=now), True) if is_time else (turn, False)


def asks(turn: Turn, facts: Facts, now: int) -> tuple[Turn, Wish | None]:
    """Return what is to be read now, or None where it has been asked for already."""
    moved_at = turn.moved_at if turn.wish and turn.wish.frame == facts.due.frame else now
    is_at_rest = now - moved_at >= REST and not facts.is_moving
    divides = (1,) if facts.reel.scan.width < PROXY_FROM else (2, 1) if is_at_rest else (2,)
    wish = Wish(facts.due.frame, divides, facts.due, is_moving=facts.is_moving)
    if wish == turn.wish:
        return turn, None
    return replace(turn, wish=wish, moved_at=moved_at), wish


def decided(turn: Turn, facts: Facts, now: int) -> tuple[Turn, Todo]:
    """Return what is to be done, and the turn as it is once that is done."""
    turn, read = asks(turn, facts, now)
    turn, draw = _draws(turn, facts, now)
    turn, strip = _draws_strip(turn, facts, now)
    turn, keeps = _keeps(turn, facts, now)
    turn = replace(turn, settling=max(0, turn.settling - 1), drawn_at=now)
    return turn, Todo(read, draw, strip, keeps, measures=not facts.is_moving)


def counts(turn: Turn, facts: Facts, now: int) -> tuple[Turn, bool]:
    """Say whether the scopes are to be counted: after the picture is seen, for the hand waits for that."""
    if turn.drawn is None or _is_counted(turn, facts) or now - turn.counted_at < _between(facts):
        return turn, False
    counted = turn.drawn, facts.region, facts.judgement
    turn = replace(turn, counted=counted, counted_at=now, is_counted_in_play=facts.is_moving)
    return turn if facts.is_running else stirred(turn, 1), True


def lags(turn: Turn, facts: Facts, now: int) -> Turn:
    """Return the turn with whether the scopes are late, for panels to say so.

    They stay so for a moment: what is greyed while the film runs or a control is turned must not flicker.
    """
    if turn.counted is None or turn.sight is None or not turn.sight.divides:
        return replace(turn, is_late=False)
    of, region, judgement = turn.counted
    counted = of.sight.frame, of.settings, of.chain, region, judgement
    shown = turn.sight.frame, facts.settings, facts.reel.chain, facts.region, facts.judgement
    late_at = now if counted != shown else turn.late_at
    return replace(turn, late_at=late_at, is_late=now - late_at < BETWEEN)


def sleep(turn: Turn, facts: Facts, now: int) -> int:
    """Return the nanoseconds after which there is something to do again."""
    if turn.settling:
        return 0
    polled = turn.polled_at or 0
    sticks = max(0, polled + STICKS - now) if facts.has_sticks else LONGEST
    return min(LONGEST, sticks, *_waits(turn, facts, now))


def is_time(turn: Turn, facts: Facts, now: int) -> bool:
    """Say whether the window has to be drawn: it is not, for sticks that stand still."""
    return turn.settling > 0 or min(_waits(turn, facts, now), default=LONGEST) <= 0


def is_settled(turn: Turn, facts: Facts) -> bool:
    """Say whether all that is shown is what the desk holds, at the finest raster."""
    sight = turn.sight
    if sight is None or sight.frame != facts.due.frame or sight.is_copy:
        return False
    if sight.divides and (sight.divides[0] != 1 or turn.drawn is None or turn.drawn.divide != 1):
        return False
    is_strip_old = bool(facts.strip) and (_is_strip_new(turn, facts) or turn.is_strip_old)
    return not is_strip_old and not turn.is_late and (turn.drawn is None or _is_counted(turn, facts))


def _draws(turn: Turn, facts: Facts, now: int) -> tuple[Turn, Drawing | None]:
    sight = turn.sight
    if sight is None or not sight.divides:
        return replace(turn, drawn=None), None
    latest = (sight.frame, facts.settings)
    if turn.settings is not None and turn.settings[0] == sight.frame and turn.settings != latest:
        turn = replace(turn, turned_at=now)
    # While a control is turned the coarser raster is drawn: it is quick, and the hand sees no difference.
    divide = sight.divides[-1 if now - turn.turned_at < REST else 0]
    drawing = Drawing(sight, facts.settings, facts.reel.chain, divide, facts.reel.scan.pixel_aspect)
    drawn = drawing if drawing != turn.drawn else None
    return replace(turn, settings=latest, drawn=drawing), drawn


def _draws_strip(turn: Turn, facts: Facts, now: int) -> tuple[Turn, tuple[int, ...] | None]:
    """While a control is turned the small pictures wait: the hand looks at the large one."""
    is_new = _is_strip_new(turn, facts)
    if not facts.strip or not (is_new or turn.is_strip_old):
        return turn, None
    if is_new and turn.strip is not None and now - turn.turned_at < REST:
        return turn, None
    return replace(turn, strip=(facts.strip, facts.reel), is_strip_old=False), facts.strip


def _is_strip_new(turn: Turn, facts: Facts) -> bool:
    return turn.strip is None or turn.strip[0] != facts.strip or turn.strip[1] is not facts.reel


def _keeps(turn: Turn, facts: Facts, now: int) -> tuple[Turn, bool]:
    if facts.reel is not turn.reel:
        turn = replace(turn, reel=facts.reel, changed_at=now)
    if not facts.is_unkept or _keeping_waits(turn, now) > 0:
        return turn, False
    return replace(turn, kept=facts.reel, kept_at=now), True


def _keeping_waits(turn: Turn, now: int) -> int:
    """Return how long keeping waits: for rest, some seconds at most, and those after it could not be done."""
    at_most = turn.kept_at + KEPT_EVERY
    rest = at_most if turn.kept is turn.reel else turn.changed_at + KEPT_AT_REST
    return min(at_most, rest) - now


def _between(facts: Facts) -> int:
    return BETWEEN_IN_PLAY if facts.is_moving else BETWEEN


def _is_counted(turn: Turn, facts: Facts) -> bool:
    is_of_it = turn.counted == (turn.drawn, facts.region, facts.judgement)
    return is_of_it and (facts.is_moving or not turn.is_counted_in_play)


def _waits(turn: Turn, facts: Facts, now: int) -> list[int]:
    """Return after how long each thing that is still to be done is due."""
    waits = [wait for wait in (facts.next_due, facts.patience) if wait is not None]
    if facts.is_running:
        return waits
    wish, drawn = turn.wish, turn.drawn
    if wish is not None and 1 not in wish.divides and not facts.is_moving:
        waits.append(turn.moved_at + REST - now)
    if drawn is not None and drawn.divide != drawn.sight.divides[0]:
        waits.append(turn.turned_at + REST - now)
    if turn.strip is not None and _is_strip_new(turn, facts):
        waits.append(turn.turned_at + REST - now)
    if turn.drawn is not None and not _is_counted(turn, facts):
        waits.append(turn.counted_at + _between(facts) - now)
    if turn.is_late:
        waits.append(turn.late_at + BETWEEN - now)
    if facts.is_unkept:
        waits.append(_keeping_waits(turn, now))
    return [max(0, wait) for wait in waits]
