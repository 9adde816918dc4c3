"""Work of the window's pages on a thread: its progress, its end, and one thing at a time."""

import time
from threading import Event

import pytest

from lamphouse.nodes.errors import BadInput, CheckFailed
from lamphouse.viewer.models.work import Outcome, Work

PATIENCE = 60  # seconds after which a test gives up


@pytest.fixture
def work():
    made = Work(lambda: None)
    yield made
    made.close()


def came(work):
    end = time.monotonic() + PATIENCE
    while (outcome := work.take()) is None:
        assert time.monotonic() < end
        time.sleep(0.001)
    return outcome


def test_work_says_how_far_it_has_come_and_brings_what_it_made(work):
    may_end = Event()

    def do(step):
        step(3, 7, "a reason")
        assert may_end.wait(PATIENCE)
        return "made"

    work.begin(do)
    end = time.monotonic() + PATIENCE
    while work.progress != (3, 7):
        assert time.monotonic() < end
    assert (work.is_under_way, work.take_progress(), work.take_progress()) == (True, True, False)
    may_end.set()
    assert came(work) == Outcome("made")
    assert (work.is_under_way, work.take(), work.progress) == (False, None, (0, 0))


@pytest.mark.parametrize(
    ("error", "sentence"),
    [
        (BadInput("It is bad; mend it."), "It is bad; mend it."),
        (CheckFailed("It failed."), "It failed."),
        (
            PermissionError(13, "Permission denied", "/a"),
            "/a cannot be used (Permission denied); give another place.",
        ),
        (ZeroDivisionError("by 0"), "This failed by a fault of ours (ZeroDivisionError: by 0)."),
    ],
)
def test_whatever_goes_wrong_is_one_sentence(work, error, sentence):
    def do(step):
        raise error

    work.begin(do)
    assert came(work) == Outcome(reason=sentence)


def test_work_that_is_stopped_ends_at_its_next_step(work):
    begun, may_go_on = Event(), Event()

    def do(step):
        begun.set()
        assert may_go_on.wait(PATIENCE)
        step(1, 2)
        raise AssertionError("It went on.")

    work.begin(do)
    assert begun.wait(PATIENCE)
    work.stop()
    may_go_on.set()
    assert came(work) == Outcome(reason="Stopped; nothing half-made is left.")


def test_what_is_begun_later_waits_for_what_went_before_and_alone_is_told(work):
    done, may_end = [], Event()

    def first(step):
        assert may_end.wait(PATIENCE)
        done.append("first")
        return "first"

    def second(step):
        done.append("second")
        return "second"

    work.begin(first)
    work.begin(second)
    assert done == []
    may_end.set()
    assert came(work) == Outcome("second")
    assert done == ["first", "second"]
