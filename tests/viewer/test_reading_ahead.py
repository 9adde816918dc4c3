"""While the film runs frames are read before they are due, and none that comes too late."""

import queue
from dataclasses import replace
from fractions import Fraction
from threading import Event

import numpy as np
import pytest

from lamphouse.graph.media.scan.decoding import Decoding
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.viewer.models.pace import Pace
from lamphouse.viewer.models.scanned import Frame
from lamphouse.viewer.models.transport import SECOND, Due, Transport
from lamphouse.viewer.picture.ahead import BACK, Course, next_place
from lamphouse.viewer.picture.reader import Reader
from lamphouse.viewer.turn import decide
from lamphouse.viewer.turn.decide import LONGEST_UNDRAWN, Facts, Turn
from lamphouse.viewer.turn.wishes import Answer, Wish

PERIOD = 40_000_000  # nanoseconds, at 25 frames a second
RATE = Fraction(25)


def wish_at(speed, frame=5000, count=12, now=0):
    transport = Transport(10_000, RATE).go_to(frame, 0).run(Fraction(speed), 0)
    return Wish(frame, (1,), transport.due(now), is_moving=True, ahead=transport.ahead(now, count))


def order_of(wish, *, one=0, between=0, leaps=True):
    """The frames in the order in which they are begun, where reading takes no time at all."""
    taken = []
    while (place := next_place(wish, taken.__contains__, (one, between), leaps=leaps)) is not None:
        taken.append(place.frame)
    return taken


@pytest.mark.parametrize("speed", [1, -1, 10, -10, Fraction(1, 4), Fraction(-1, 2)])
def test_what_lies_ahead_is_what_will_be_due_and_when(speed):
    transport = Transport(10_000, RATE).go_to(5000, 7).run(Fraction(speed), 7)
    now = 7 + 3 * PERIOD + 5
    for due, wait in transport.ahead(now, 9):
        assert transport.due(now + wait) == due
        assert transport.due(now + wait - 1).picture == due.picture - 1


def test_nothing_lies_ahead_of_the_end_of_the_reel_and_a_loop_has_none():
    end = Transport(10, RATE).go_to(7, 0).play(0)
    assert [due.frame for due, _ in end.ahead(0, 9)] == [8, 9]
    assert end.stop(0).ahead(0, 9) == ()
    loop = Transport(10, RATE).go_to(4, 0).looping((3, 6), 0).play(0)
    assert [due.frame for due, _ in loop.ahead(0, 5)] == [5, 3, 4, 5, 3]


def test_frames_are_read_in_the_order_in_which_they_are_due():
    assert order_of(wish_at(1)) == list(range(5000, 5013))
    assert order_of(wish_at(-10)) == list(range(5000, 4870, -10))


def test_what_cannot_come_in_time_is_passed_over():
    # One frame takes 2.5 times of a frame, two threads read: each second one is read.
    found = order_of(wish_at(1), one=100_000_000, between=50_000_000)
    assert found == [5003, 5005, 5007, 5009, 5011]
    assert order_of(wish_at(1, count=2), one=100_000_000, between=50_000_000) == [
        5000
    ]  # better late than never


def test_film_whose_pictures_lean_on_others_is_read_forward_in_blocks_where_it_runs_back():
    assert order_of(wish_at(-1, frame=31), leaps=False) == [*range(24, 32), *range(19, 24)]
    assert order_of(wish_at(1, frame=31), leaps=False) == list(range(31, 44))


class Film:
    """Frames that are their numbers, read when a test says so."""

    is_all_keys = True

    def __init__(self):
        self.read, self.goes = [], Event()

    def read_coded(self, frame):
        self.goes.wait(30)
        self.read.append(frame)
        return np.full((3, 2, 2), frame, np.float32)

    def close(self):
        pass


def test_what_was_read_ahead_answers_at_once_and_is_read_once():
    film, answers = Film(), queue.SimpleQueue()
    reader = Reader(lambda: film, answers.put, threads=2, room=1 << 20)
    film.goes.set()
    reader.ask(wish_at(1))
    assert answers.get(timeout=30).wish.frame == 5000
    while len(film.read) < 13:
        pass
    transport = Transport(10_000, RATE).go_to(5000, 0).run(Fraction(1), 0)
    for n in range(1, 12):
        due = transport.due(n * PERIOD)
        reader.ask(Wish(due.frame, (1,), due, is_moving=True))
        answer = answers.get_nowait()
        assert (answer.wish.due, answer.found.finest[0, 0, 0]) == (due, due.frame)
    reader.close()
    assert sorted(film.read[:13]) == list(range(5000, 5013))
    assert len(film.read) == len(set(film.read))


def test_a_late_picture_is_shown_late_and_an_older_one_never():
    film, answers = Film(), queue.SimpleQueue()
    reader = Reader(lambda: film, answers.put, room=1 << 20)
    first, later = Due(10, 1, 1), Due(12, 3, 1)
    reader.ask(Wish(10, (1,), first, is_moving=True))
    while not reader._busy:
        pass
    reader.ask(Wish(12, (1,), later, is_moving=True))
    film.goes.set()
    assert [answers.get(timeout=30).wish.due for _ in range(2)] == [first, later]
    reader.close()
    assert answers.empty()


def test_what_is_held_is_bounded():
    film, answers = Film(), queue.SimpleQueue()
    film.goes.set()
    reader = Reader(lambda: film, answers.put, room=5 * 3 * 2 * 2 * 4)
    for start in range(5000, 5100, 10):
        reader.ask(wish_at(1, frame=start))
        while answers.get(timeout=30).wish.frame != start:
            pass
        assert len(reader._shelf.found) <= 6
    reader.close()


def test_pictures_a_second_are_those_that_were_seen():
    transport = Transport(10_000, RATE).play(0)
    pace = Pace()
    for n in range(100):
        pace = pace.saw(transport.motion, n * 2 * PERIOD)
    now = 200 * PERIOD
    assert pace.a_second(transport, now) == pytest.approx(12.5, abs=1)
    assert pace.is_short(transport, now)
    for n in range(100):
        pace = pace.saw(transport.motion, now + n * PERIOD)
    assert pace.a_second(transport, now + 100 * PERIOD) == 25
    assert not pace.is_short(transport, now + 100 * PERIOD)
    assert pace.a_second(transport, now + 100 * PERIOD + SECOND) == 0  # nothing comes any more
    assert pace.a_second(transport.play(now), now) is None  # another motion, of which nothing is known


def test_a_frame_out_of_order_costs_its_decoder_no_other(scan_file, monkeypatch):
    fed, real = [], Decoding._decode

    def counted(self, packet):
        fed.append(packet)
        return real(self, packet)

    monkeypatch.setattr(Decoding, "_decode", counted)
    with open_scan(scan_file, any_order=True) as scan, open_scan(scan_file) as ordered:
        assert scan.is_all_keys
        fed.clear()  # of those by which the file was numbered
        found = [scan.read(frame) for frame in (30, 29, 3, 17)]
        assert len(fed) == 4
        for frame, picture in zip((3, 17, 29, 30), (found[2], found[3], found[1], found[0]), strict=True):
            np.testing.assert_array_equal(picture, ordered.read(frame))


def test_a_neutral_is_never_picked_from_the_working_copy(desk, hand_at):
    hand = hand_at(desk)
    hand.panels.picks = True
    copy = Frame(np.full((3, 96, 128), 0.4, np.float32), is_copy=True)
    hand.loop.seen = replace(hand.loop.seen, found=copy)
    before = desk.reel
    left, top = hand.panels.picture.at
    hand.click(left + hand.panels.picture.size[0] / 2, top + hand.panels.picture.size[1] / 2)
    assert desk.reel is before
    assert hand.panels.picks
    assert "scan itself" in desk.message


def test_a_picture_of_the_copy_is_never_what_rests(desk):
    at_rest = Facts(Due(4, 0, 1), False, None, desk.reel, desk.cues.at(4))
    moving = replace(at_rest, is_moving=True)
    turn, wish = decide.asks(Turn(), moving, 10**12)
    assert wish.is_moving
    turn = decide.sees(turn, Answer(wish, Frame(np.zeros((3, 4, 4), np.float32), is_copy=True)))
    assert not decide.is_settled(turn, at_rest)
    assert decide.is_behind(turn, at_rest.due, is_moving=False)  # what concerns the frame waits
    assert decide.asks(turn, at_rest, 10**12)[1] == Wish(4, (1,))  # the scan's own is asked for


def test_while_the_film_runs_the_time_is_the_pictures(desk):
    facts = Facts(Due(4, 0, 1), True, 5, desk.reel, desk.cues.at(4), is_running=True)
    rested = replace(Turn(), settling=0, drawn_at=0)
    said = {"is_woken": False, "has_news": True, "has_seen": False}
    assert decide.stirs(rested, facts, 1, **said).settling == 0
    assert decide.stirs(rested, facts, 1, **{**said, "has_seen": True}).settling == 1
    assert decide.stirs(rested, facts, LONGEST_UNDRAWN, **said).settling == 1  # nothing comes, and is told
    assert decide.stirs(rested, replace(facts, is_running=False), 1, **said).settling == 2


def test_of_a_film_that_runs_for_long_only_the_last_pictures_are_known():
    course, transport = Course(), Transport(10_000, RATE).play(0)
    for n in range(500):
        due = transport.due(n * PERIOD)
        course.ask(Wish(due.frame, (1,), due, is_moving=True, ahead=transport.ahead(n * PERIOD, 12)), n)
    assert len(course._dues) <= BACK + 13
    assert [due.picture for due in course.before(Wish(499, (1,), Due(499, 499, 1), is_moving=True))] == list(
        range(498, 499 - BACK, -1)
    )
