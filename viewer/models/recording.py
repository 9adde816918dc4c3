"""The record page: a pass or another long work under way, and what came of it. It knows no window.

What it does is what the commands do, in a process of its own; one work at a time.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final, Literal, Protocol

from lamphouse.graph.media.codes.placing import placing_of
from lamphouse.graph.media.master.containers import CONTAINERS, is_movie
from lamphouse.graph.media.master.record import MasterRecord, master_of
from lamphouse.graph.reel.records import Delivery, Reel
from lamphouse.graph.transfer.wanted import Wanted
from lamphouse.viewer.jobs.child import Order
from lamphouse.viewer.jobs.orders import Check, Mend, Prove, Report, Transfer
from lamphouse.viewer.jobs.said import Ended, Message, Noted, Pair, Progress
from lamphouse.viewer.jobs.stale import Joins, Stale
from lamphouse.viewer.jobs.work import Work
from lamphouse.viewer.models.browsing import Browser, Kind
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.master_choice import MasterChoice
from lamphouse.viewer.models.record_asked import StaleCase
from lamphouse.viewer.models.saving import save

Side = Literal["pass", "insert", "finished"]
Takes = Literal["stale", "cue", "marked"]
What = Literal["pass", "insert", "proof", "check", "report"]
Ordered = Transfer | Mend | Prove | Check | Report
SPAN: Final = 10_000_000_000  # nanoseconds over which the speed is taken (ours)
SECOND: Final = 1_000_000_000
MASTERS: Final[frozenset[Kind]] = frozenset({"movie", "stills"})


class Running(Protocol):
    """Work under way: see `Work`."""

    def news(self) -> list[Message]:
        """Return what has been said since the last call."""

    def stop(self) -> None:
        """Have it stop in order."""

    def close(self) -> None:
        """Stop it and wait until it has ended."""


@dataclass(slots=True)
class Job:
    """One work, from its beginning to what came of it. `master` is what it is done to."""

    what: What
    master: Path
    order: Order
    work: Running
    begun: int
    shape: float  # width of the master's picture for a height of 1, as it is seen
    progress: Progress = field(default_factory=lambda: Progress("", 0, 0))
    pair: Pair | None = None  # the newest frame that came back, and as it was sent
    notes: list[str] = field(default_factory=list)
    ended: Ended | None = None
    ended_at: int = 0
    is_stopping: bool = False
    _marks: deque[tuple[int, int]] = field(default_factory=deque)

    def take(self, message: Message, now: int) -> None:
        """Take what the work says."""
        if isinstance(message, Pair):
            if message.came is not None or self.pair is None or self.pair.came is None:
                self.pair = message
        elif isinstance(message, Noted):
            self.notes += [message.sentence] if message.sentence not in self.notes else []
        elif isinstance(message, Ended):
            self.ended, self.ended_at = message, now
        elif isinstance(message, Progress):
            if message.stage != self.progress.stage:
                self._marks.clear()
            self.progress = message
            self._marks.append((now, message.done))
            while len(self._marks) > 2 and now - self._marks[0][0] > SPAN:
                self._marks.popleft()

    @property
    def speed(self) -> float:
        """Frames a second, of late; 0 until that is known."""
        if len(self._marks) < 2 or self._marks[-1][0] == self._marks[0][0]:
            return 0.0
        (then, first), (now, done) = self._marks[0], self._marks[-1]
        return (done - first) / (now - then) * SECOND

    @property
    def waits_for_end(self) -> bool:
        """Whether what is written can only be read once it is whole."""
        return isinstance(self.order, Transfer) and not CONTAINERS[self.order.delivery.container].grows

    @property
    def left(self) -> int | None:
        """Seconds until this stage is done, at that speed; None where nobody can tell."""
        rest = self.progress.total - self.progress.done
        return round(rest / self.speed) if self.speed > 0 else None


@dataclass(slots=True)
class Recording:
    """All that the record page holds."""

    side: Side = "pass"
    choice: MasterChoice = field(default_factory=MasterChoice)
    job: Job | None = None
    asks_to_stop: bool = False
    asks_what_is_left: bool = False  # whether it is to be resumed or thrown away
    master: Path | None = None  # the last that was finished: what is made anew goes into it
    typed_master: str = ""
    browser: Browser | None = None  # open to choose a master, or where one is to lie
    keeps_old: bool = False
    takes: Takes = "stale"  # which frames an insert makes
    stale: Stale | None = None
    joins: Joins | None = None
    asked: StaleCase | None = None  # what is stale was last asked of
    turn: int = 0  # how many works have ended: a master may be another after each
    run: int = 0  # which of the runs of frames to be made anew is looked at
    place: int = 0  # how many of the places at which something was found have been gone to
    begin: Callable[[Order, Callable[[], None]], Running] = Work
    wake: Callable[[], None] = lambda: None

    @property
    def is_at_work(self) -> bool:
        """Whether a work is under way."""
        return self.job is not None and self.job.ended is None

    def stop_browsing(self) -> None:
        """Close the browser."""
        if self.browser is not None:
            self.browser.close()
        self.browser = None

    @property
    def record(self) -> MasterRecord | None:
        """The record of the last master, once it has been read."""
        return self.stale.record if self.stale is not None and self.stale.master == self.master else None

    @property
    def shape(self) -> float:
        """The width of the last master's picture for a height of 1; of 4:3 where nobody knows."""
        record = self.record
        return 4 / 3 if record is None else shape_of(record.delivery, record.reel)

    def close(self) -> None:
        """Stop what is under way, and wait for its end: what it has done is kept."""
        self.stop_browsing()
        if self.job is not None and self.job.ended is None:
            self.job.work.close()


def browse(desk: Desk, recording: Recording, now: int) -> None:
    """Open the browser for what the page asks for: a finished master, or the file of one; or close it."""
    if recording.browser is not None:
        recording.stop_browsing()
    elif recording.side != "pass":
        folder = (recording.master or desk.reel_file.absolute()).parent
        recording.browser = Browser(folder, MASTERS, recording.wake)
    else:
        chosen = recording.choice.now(desk, now)
        is_folder = chosen.delivery is not None and not is_movie(chosen.delivery.container)
        folder, name = chosen.master.absolute().parent, chosen.master.name
        recording.browser = Browser(folder, MASTERS, recording.wake, saves=name, is_folder=is_folder)


def take_file(desk: Desk, recording: Recording, path: Path) -> None:
    """Take what was found in the browser."""
    saves = recording.browser is not None and recording.browser.is_saving
    recording.stop_browsing()
    if saves:
        recording.choice.typed = str(path)
    else:
        choose_master(desk, recording, str(path))


def shape_of(delivery: Delivery, reel: Reel) -> float:
    """Return the width of the picture of a delivery for a height of 1, as it is seen."""
    outer = placing_of(delivery, reel).outer
    return float(outer.width * outer.pixel_aspect / outer.height)


def follow(desk: Desk, recording: Recording, now: int) -> bool:
    """Take what the work has said since; say whether there was anything."""
    job = recording.job
    if job is None or job.ended is not None:
        return False
    news = job.work.news()
    for message in news:
        job.take(message, now)
    if job.ended is not None:
        recording.asks_to_stop, recording.place = False, 0
        recording.choice.forget()
        recording.turn += 1
        made = job.ended.outcome.made if job.ended.outcome is not None else None
        if made is not None and job.what in ("pass", "insert"):
            recording.master, recording.stale, recording.choice.typed = made, None, ""
    return bool(news)


def record(desk: Desk, recording: Recording, now: int) -> None:
    """Begin the pass that is chosen; at work, stop it; asked for twice where something depends on it."""
    if recording.is_at_work:
        if recording.asks_to_stop:
            stop(recording)
        else:
            recording.asks_to_stop = True
        return
    before = recording.choice.now(desk, now).before
    left = before.left if before is not None else None
    if left is not None and not recording.asks_what_is_left:
        recording.asks_what_is_left = True
    elif left is not None and not left.can_resume:
        desk.message = "What is left cannot be resumed; throw it away, or choose another name."
    else:
        begin_pass(desk, recording, now, resume=left is not None)


def discard_left(desk: Desk, recording: Recording, now: int) -> None:
    """Throw away what another pass has left, and begin anew."""
    if recording.asks_what_is_left and not recording.is_at_work:
        begin_pass(desk, recording, now, discard=True)


def go_on(desk: Desk, recording: Recording, now: int) -> None:
    """Answer what is asked on the page by leaving all as it is."""
    recording.asks_to_stop = recording.asks_what_is_left = False


def begin_pass(
    desk: Desk, recording: Recording, now: int, *, resume: bool = False, discard: bool = False
) -> None:
    """Begin the pass that is chosen. The reel is saved first, so that the file and its master are one."""
    recording.asks_what_is_left = False
    chosen = recording.choice.now(desk, now)
    if chosen.reason or chosen.plan is None:
        desk.message = chosen.reason
        return
    if not _is_free(desk, recording):
        return
    pass_ = chosen.plan
    order = Transfer(
        desk.reel_file,
        desk.reel,
        pass_.delivery,
        pass_.start,
        pass_.stop,
        chosen.master,
        resume,
        discard,
    )
    _begin(desk, recording, "pass", order, now)


def begin_insert(desk: Desk, recording: Recording, wanted: Wanted | None, now: int) -> None:
    """Make some frames of the last master anew."""
    if recording.master is None:
        desk.message = "No master is chosen; make one, or type the path of one."
    elif wanted is None:
        desk.message = "No frames are chosen; mark them with I and O, or take a cue or what is stale."
    elif _is_free(desk, recording):
        order = Mend(desk.reel_file, desk.reel, recording.master, wanted, recording.keeps_old)
        _begin(desk, recording, "insert", order, now)


def begin_proof(desk: Desk, recording: Recording, now: int) -> None:
    """Hold the last master against its record and against the reel as it is now."""
    if (master := _master(desk, recording)) is not None and _is_free(desk, recording, saves=False):
        recording.side = "finished"
        _begin(desk, recording, "proof", Prove(desk.reel_file, desk.reel, master), now)


def begin_check(desk: Desk, recording: Recording, now: int) -> None:
    """Look at the last master as whoever receives it will."""
    if (master := _master(desk, recording)) is not None and _is_free(desk, recording, saves=False):
        recording.side = "finished"
        _begin(desk, recording, "check", Check(master), now)


def begin_report(desk: Desk, recording: Recording, now: int) -> None:
    """Write the page of the last master beside it."""
    if (master := _master(desk, recording)) is not None and _is_free(desk, recording, saves=False):
        folder = master.with_name(f"{master.stem}-report")
        _begin(desk, recording, "report", Report(desk.reel_file, desk.reel, master, folder), now)


def compare_with_master(desk: Desk, recording: Recording) -> bool:
    """Compare the picture with the last master; say whether there is one."""
    master = _master(desk, recording)
    if master is not None:
        desk.comparison.choose_master(master)
    return master is not None


def stop(recording: Recording) -> None:
    """Stop what is under way; what is done stays."""
    recording.asks_to_stop = False
    if recording.job is not None and recording.is_at_work:
        recording.job.is_stopping = True
        recording.job.work.stop()


def choose_master(desk: Desk, recording: Recording, typed: str) -> None:
    """Take a finished master by the path that was typed, from the folder of the reel."""
    path = master_of(desk.reel_file.parent / Path(typed.strip().strip("\"'")).expanduser())
    if not path.exists():
        desk.message = f"{path} does not exist; give the file or the folder of a finished master."
        return
    recording.master, recording.stale, recording.joins = path, None, None


def _master(desk: Desk, recording: Recording) -> Path | None:
    if recording.master is None:
        desk.message = "There is no finished master yet; make one, or type the path of one."
    return recording.master


def _is_free(desk: Desk, recording: Recording, *, saves: bool = True) -> bool:
    """Say whether a work may begin; the reel is saved first where it goes into what is made."""
    if recording.is_at_work:
        desk.message = "Another work is under way; wait for its end, or stop it."
        return False
    return desk.is_saved or not saves or save(desk)


def _begin(desk: Desk, recording: Recording, what: What, order: Ordered, now: int) -> None:
    shape = shape_of(order.delivery, order.reel) if isinstance(order, Transfer) else recording.shape
    recording.asks_to_stop, recording.place = False, 0
    recording.stop_browsing()
    try:
        work = recording.begin(order, recording.wake)
    except OSError as error:
        desk.message = f"No process can be begun for it ({error.strerror or error}); close other programs."
        return
    recording.job = Job(what, order.master, order, work, now, shape)
