"""Whoever hands segments out copes with workers that refuse, are gone, or make the same at the same time."""

from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import pytest

from lamphouse.graph.transfer.farm import farm as module
from lamphouse.graph.transfer.farm.farm import Farm
from lamphouse.graph.transfer.farm.worker import BAD, MADE, REFUSED, WRONG
from lamphouse.nodes.errors import BadInput, CheckFailed, Note, Stopped

SEGMENTS = [range(0, 10), range(10, 20)]


class Job:
    """A future of the library."""

    def __init__(self, worker: str, segment: str) -> None:
        self.worker, self.segment = worker, segment
        self.status, self.said = "pending", ("", "")

    def done(self) -> bool:
        return self.status != "pending"

    def result(self) -> tuple[str, str]:
        return self.said

    def exception(self) -> Exception:
        return RuntimeError("invented")

    def ends(self, came: str, said: str = "") -> None:
        self.status, self.said = "finished", (came, said)


class Client:
    """A client of the library: `script` is called when nothing is to be done, with what is not done."""

    def __init__(self, workers: set[str], script: Callable[[list[Job]], None]) -> None:
        self.workers, self.script = workers, script
        self.jobs: list[Job] = []
        self.cancelled: list[Job] = []

    def nthreads(self) -> dict[str, int]:
        return dict.fromkeys(self.workers, 1)

    def submit(self, _: object, order: bytes, topic: str, *, workers: list[str], pure: bool) -> Job:
        self.jobs.append(Job(workers[0], order.decode()))
        return self.jobs[-1]

    def cancel(self, jobs: list[Job]) -> None:
        self.cancelled += jobs

    def subscribe_topic(self, topic: str, heard: object) -> None: ...

    def unsubscribe_topic(self, topic: str) -> None: ...

    def wait(self, jobs: list[Job], **_: Any) -> None:
        self.script([job for job in jobs if not job.done()])


def make(client: Client, is_asked: Callable[[], bool] = lambda: False) -> None:
    farm = Farm(SimpleNamespace(wait=client.wait), client, "invented")
    farm.make(SEGMENTS, lambda segment: str(segment).encode(), lambda *done: None, is_asked)


@pytest.fixture(autouse=True)
def whole_segments(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "cut", lambda gaps, workers: gaps)
    monkeypatch.setattr(module, "POLL", 0)


def all_made(jobs: list[Job]) -> None:
    for job in jobs:
        job.ends(MADE)


def test_every_segment_is_asked_for_once_where_all_goes_well() -> None:
    client = Client({"one", "two"}, all_made)
    make(client)
    assert [(job.worker, job.segment) for job in client.jobs] == [
        ("one", "range(0, 10)"),
        ("two", "range(10, 20)"),
    ]


def test_two_that_end_the_same_segment_at_the_same_moment_are_taken_as_one(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    clock = iter(range(0, 100_000, 10))
    monkeypatch.setattr(module, "time", SimpleNamespace(monotonic=lambda: next(clock), sleep=lambda _: None))

    def first_then_both(jobs: list[Job]) -> None:
        if len(client.jobs) == 2:
            client.jobs[0].ends(MADE)
        elif len(client.jobs) == 3:
            all_made(jobs)

    client = Client({"one", "two"}, first_then_both)
    make(client)
    assert [(job.worker, job.segment) for job in client.jobs[1:]] == [
        ("two", "range(10, 20)"),
        ("one", "range(10, 20)"),
    ]
    assert len(client.cancelled) == 1


def test_what_a_worker_that_is_gone_had_is_given_to_another() -> None:
    def one_goes(jobs: list[Job]) -> None:
        if "one" in client.workers:
            client.workers.remove("one")
        else:
            all_made(jobs)

    client = Client({"one", "two"}, one_goes)
    make(client)
    assert [job.segment for job in client.jobs if job.worker == "two"] == ["range(10, 20)", "range(0, 10)"]


def test_a_worker_that_refuses_is_told_of_and_asked_no_more() -> None:
    def one_refuses(jobs: list[Job]) -> None:
        for job in jobs:
            job.ends(
                *((REFUSED, "The worker on one differs in the scan.") if job.worker == "one" else (MADE,))
            )

    client = Client({"one", "two"}, one_refuses)
    with pytest.warns(Note, match="on one differs in the scan"):
        make(client)
    assert [job.worker for job in client.jobs] == ["one", "two", "two"]


def test_where_all_refuse_the_reason_is_the_sentence() -> None:
    client = Client({"one"}, lambda jobs: jobs[0].ends(REFUSED, "The worker on one differs in the scan."))
    with (
        pytest.warns(Note),
        pytest.raises(
            BadInput, match=r"^No worker of invented can take part, for one says: .* differs in the scan\.$"
        ),
    ):
        make(client)


@pytest.mark.parametrize(("came", "error"), [(BAD, BadInput), (WRONG, CheckFailed)])
def test_what_is_wrong_with_a_frame_ends_it_all(came: str, error: type[Exception]) -> None:
    client = Client({"one", "two"}, lambda jobs: jobs[0].ends(came, "Frame 3 is damaged; scan it again."))
    with pytest.raises(error, match=r"^Frame 3 is damaged; scan it again\.$"):
        make(client)
    assert [job.worker for job in client.cancelled] == ["two"]


def test_a_segment_that_ends_workers_is_given_up() -> None:
    def fails(jobs: list[Job]) -> None:
        jobs[0].status = "error"

    with pytest.raises(
        BadInput, match=r"^Frames 0 to 10 .* 3 workers .* one \(RuntimeError: invented\); see"
    ):
        make(Client({"one"}, fails))


def test_a_wish_to_stop_cancels_what_is_at_work() -> None:
    client = Client({"one", "two"}, lambda jobs: None)
    with pytest.raises(Stopped, match=r"^Stopped after 0 of 20 frames\.$"):
        make(client, lambda: len(client.jobs) > 1)
    assert len(client.cancelled) == 2


def test_a_scheduler_without_workers_is_given_time_and_then_up(monkeypatch: pytest.MonkeyPatch) -> None:
    clock = iter(range(0, 1000, 10))
    monkeypatch.setattr(module, "time", SimpleNamespace(monotonic=lambda: next(clock), sleep=lambda _: None))
    with pytest.raises(BadInput, match=r"^No worker is at invented; start some with `dask worker"):
        make(Client(set(), lambda jobs: None))
    assert next(clock) > module.PATIENCE
