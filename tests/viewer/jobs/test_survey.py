"""The survey in a process of its own: measured once, then proposals for each wish, the newest alone."""

import time
from contextlib import suppress
from multiprocessing import Pipe
from threading import Event, Thread

import msgspec
import numpy as np
import pytest

from lamphouse.graph.survey import survey as room
from lamphouse.graph.survey.changes.evidence import Evidence
from lamphouse.graph.survey.changes.leaders import Leaders
from lamphouse.graph.survey.proposal import KINDS, Proposal
from lamphouse.nodes.errors import BadInput, Stopped
from lamphouse.viewer.jobs import survey as job
from lamphouse.viewer.jobs.said import Ended, Given, Progress
from lamphouse.viewer.jobs.survey import Evident, Measured, Proposed, Survey, Wished
from lamphouse.viewer.jobs.told import Told
from lamphouse.viewer.models.surveyed import SurveyAsked
from lamphouse.viewer.picture import surveying
from lamphouse.viewer.picture.surveying import LOOKS, SETTLED, Surveying

LONG = 60  # seconds after which a test has failed


def cut(frame, why="Invented."):
    return Proposal(kind="cues", what="cut", frame=frame, sure=1.0, why=why)


@pytest.fixture
def parts(monkeypatch):
    """What the survey's parts propose, by kind, to be changed; and no process of a test gives way."""
    proposed = dict.fromkeys(KINDS, ())
    monkeypatch.setattr(room, "PARTS", proposed)
    monkeypatch.setattr(job, "give_way", lambda by: None)
    return proposed


@pytest.fixture
def at_work(desk, parts):
    """The other end of the wire of a survey that is made on a thread; it ends with the test."""
    ours, theirs = Pipe()
    order = Survey(desk.reel_file, desk.reel)

    def run():
        with suppress(Stopped):
            order.run(Told(theirs))

    thread = Thread(target=run, daemon=True)
    thread.start()
    yield ours
    ours.send("stop")
    thread.join(LONG)
    assert not thread.is_alive()


def given(wire, kind):
    """Return the next thing of a class that is given out, past all else."""
    while wire.poll(LONG):
        message = wire.recv()
        if isinstance(message, Given) and isinstance(message.what, kind):
            return message.what
    raise AssertionError("Nothing more is said.")


def test_the_scan_is_measured_and_each_state_of_the_reel_has_its_proposals(at_work, desk, parts):
    parts["cues"] = (lambda look: [cut(12, f"margin {look.margin}")],)
    parts["faults"] = (
        lambda look: [msgspec.structs.replace(cut(len(look.opened.reel.cues)), kind="faults")],
    )
    at_work.send(Wished(1, desk.reel, 2.0))
    given(at_work, Measured)
    assert len(given(at_work, Evident).evidence.cuts) == desk.reel.scan.frames
    found = [given(at_work, Proposed) for _ in KINDS]
    assert [one.kind for one in found] == list(KINDS)
    assert {one.kind: [each.frame for each in one.proposals] for one in found if one.proposals} == {
        "cues": [12],
        "faults": [2],
    }
    assert found[1].proposals[0].why == "margin 2.0"
    at_work.send(Wished(2, msgspec.structs.replace(desk.reel, cues=()), 1.0))
    assert [given(at_work, Proposed).number for _ in KINDS] == [2] * len(KINDS)


def test_a_wish_that_is_overtaken_is_left_where_it_is(at_work, desk, parts):
    may, begun = Event(), Event()

    def slow(look):
        begun.set()
        assert may.wait(LONG)
        return [cut(1)]

    parts["marks"] = (slow,)
    at_work.send(Wished(1, desk.reel, 1.0))
    assert begun.wait(LONG)
    at_work.send(Wished(2, desk.reel, 1.5))
    at_work.send(Wished(3, desk.reel, 2.0))
    time.sleep(0.05)  # both are heard; were they not, the third would be given as well
    may.set()
    found = [given(at_work, Proposed)]
    while found[-1].kind != KINDS[-1]:
        found.append(given(at_work, Proposed))
    assert [(one.number, one.kind) for one in found] == [(1, "marks"), *((3, kind) for kind in KINDS)]


def test_a_reel_that_cannot_be_looked_through_is_said_and_the_next_is(at_work, desk, parts):
    def broken(look):
        raise BadInput("The chain is not whole; mend it.")

    parts["marks"] = (broken,)
    at_work.send(Wished(1, desk.reel, 1.0))
    assert given(at_work, Proposed).reason == "The chain is not whole; mend it."
    parts["marks"] = ()
    at_work.send(Wished(2, desk.reel, 1.0))
    assert given(at_work, Proposed).reason == ""


class Silent:
    """Work that says what a test puts into `said`."""

    def __init__(self, order, wake):
        self.order, self.said, self.wishes, self.is_killed = order, [], [], False

    def news(self):
        said, self.said = self.said, []
        return said

    def wish(self, what):
        self.wishes.append(what)

    def kill(self):
        self.is_killed = True


@pytest.fixture
def followed(desk, monkeypatch):
    """A survey whose process is silent, and what was asked of it."""
    monkeypatch.setattr(surveying, "Work", Silent)
    one = Surveying(desk.opened, lambda: None)
    asked = SurveyAsked(desk.reel, 1.0)
    one.follow(asked)
    return one, asked


def test_nothing_is_wished_for_before_the_process_hears_and_then_once(followed):
    one, asked = followed
    work = one._making.work
    one.follow(asked)
    assert work.wishes == []
    work.said = [Progress("survey", 0, 40)]
    for _ in range(3):
        one.follow(asked)
    assert [(wish.reel, wish.margin) for wish in work.wishes] == [(asked.reel, 1.0)]
    one.follow(SurveyAsked(asked.reel, 2.0))
    assert [wish.margin for wish in work.wishes] == [1.0, 2.0]


def test_how_far_measuring_is_and_how_long_it_takes_is_told_in_words(followed, monkeypatch):
    one, asked = followed
    work, clock = one._making.work, [100.0]
    monkeypatch.setattr(surveying.time, "monotonic", lambda: clock[0])
    said = []
    for done, now in ((0, 0), (100, 1), (500, SETTLED + 97), (1000, 200)):
        clock[0] = 100.0 + now
        work.said = [Progress("survey", done, 1000)]
        said.append(one.follow(asked).words)
    assert said == ["survey 0 %", "survey 10 %", "survey 50 %, 2 min left", ""]


def test_only_what_belongs_to_what_is_asked_now_is_taken(followed):
    one, asked = followed
    work = one._making.work
    work.said = [Progress("survey", 40, 40), Given(Measured()), Given(Proposed(1, "cues", (cut(4),)))]
    assert one.follow(asked).found.proposals == (cut(4),)
    other = SurveyAsked(asked.reel, 2.0)
    one.follow(other)
    work.said = [Given(Proposed(1, "faults", (cut(5),)))]
    assert one.follow(other).found.asked is asked
    work.said = [Given(Proposed(2, "cues", (cut(6),)))]
    assert (one.follow(other).found.asked, one.follow(other).found.proposals) == (other, (cut(6),))


def test_kinds_come_one_by_one_and_what_is_looked_for_next_is_known(followed):
    one, asked = followed
    work, evidence = one._making.work, Evidence(np.zeros(4, np.float32), (), (), Leaders(0, 4))
    work.said = [Given(Measured())]
    assert one.follow(asked).words == LOOKS
    work.said = [Given(Evident(evidence)), Given(Proposed(1, "marks", (cut(9),)))]
    told = one.follow(asked)
    assert (told.words, told.evidence, told.found.next_kind) == ("", evidence, "cues")
    work.said = [Given(Proposed(1, kind, (cut(4),) if kind == "cues" else ())) for kind in KINDS[1:]]
    found = one.follow(asked).found
    assert (found.proposals, found.next_kind) == ((cut(4), cut(9)), None)
    work.said = [Given(Proposed(1, "marks", reason="The chain is not whole; mend it."))]
    assert one.follow(asked).found.next_kind is None


def test_a_process_that_ends_says_why_and_leaving_off_kills_it(followed):
    one, asked = followed
    work = one._making.work
    work.said = [Ended("refused", "The scan is gone; bring it back.")]
    assert one.follow(asked).reason == "The scan is gone; bring it back."
    assert one.follow(None).reason == ""
    assert work.is_killed


@pytest.mark.slow  # a process is begun, and gone through from the scan to what is proposed
def test_a_survey_is_made_by_a_process_apart(desk):
    come = Event()
    one, asked = Surveying(desk.opened, come.set), SurveyAsked(desk.reel, 1.0)
    end = time.monotonic() + LONG
    told = one.follow(asked)
    while (told.found is None or told.found.next_kind) and not told.reason and time.monotonic() < end:
        come.wait(1)
        come.clear()
        told = one.follow(asked)
    one.close()
    assert told.reason == ""
    assert told.found.asked is asked
    assert told.evidence is not None
