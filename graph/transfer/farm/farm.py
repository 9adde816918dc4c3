"""The farm as whoever hands out sees it: workers of a dask.distributed scheduler, there or started here."""

from __future__ import annotations

import importlib
import re
import secrets
import time
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, Final

from lamphouse.graph.progress import Step
from lamphouse.graph.transfer.farm.hand_out import HandOut, cut
from lamphouse.graph.transfer.farm.worker import BAD, MADE, REFUSED, WRONG, work
from lamphouse.nodes.errors import BadInput, CheckFailed, Note, Stopped

LOCAL: Final = re.compile(r"local(?::([1-9][0-9]?))?")
WORKERS: Final = 2  # that `local` starts, where no number is given
PATIENCE: Final = 60.0  # seconds without a worker after which nobody is thought to come
POLL: Final = 0.2  # seconds between looks at who is there and what is made
HOW: Final = "start some with `dask worker ADDRESS --nthreads 1 --memory-limit 0`"

Orders = Callable[[range], bytes]


class Farm:
    """Workers that a `client` of the library `distributed` reaches."""

    def __init__(self, distributed: Any, client: Any, address: str) -> None:
        self._distributed, self._client, self._address = distributed, client, address
        self._topic = f"lamphouse-{secrets.token_hex(8)}"
        self._jobs: dict[str, Any] = {}
        self._refused: dict[str, str] = {}
        self._seen = time.monotonic()  # a worker that makes segments

    def make(self, gaps: list[range], orders: Orders, step: Step, is_asked: Callable[[], bool]) -> None:
        """Have everything in `gaps` made; `orders` says what to ask for a segment. Raises as `transfer`."""
        hand = HandOut(cut(gaps, len(self._workers())))
        frames = sum(map(len, gaps))
        self._client.subscribe_topic(self._topic, lambda event: hand.tell(*_heard(event)))
        try:
            while not hand.is_ended:
                if is_asked():
                    raise Stopped(f"Stopped after {hand.done} of {frames} frames.")
                self._turn(hand, orders)
                step(hand.done, frames)
        finally:
            self._client.unsubscribe_topic(self._topic)
            self._client.cancel(list(self._jobs.values()))

    def _turn(self, hand: HandOut, orders: Orders) -> None:
        there = self._workers()
        for worker in list(self._jobs):
            if worker not in self._jobs:
                continue  # its segment has just been taken from another
            if self._jobs[worker].done():
                self._take(worker, hand)
            elif worker not in there:
                self._drop(worker)
                hand.lost(worker, "it is gone")
        self._refuse_nobody(there)
        for worker in sorted(there - self._jobs.keys() - self._refused.keys()):
            if (segment := hand.give(worker, time.monotonic())) is not None:
                self._jobs[worker] = self._client.submit(
                    work, orders(segment), self._topic, workers=[worker], pure=False
                )
        self._wait()

    def _take(self, worker: str, hand: HandOut) -> None:
        future = self._jobs.pop(worker)
        if future.status != "finished":
            hand.lost(worker, _reason(future))
            return
        came, said = future.result()
        if came == MADE:
            for other in hand.made(worker, time.monotonic()):
                self._drop(other)
        elif came == REFUSED:
            hand.back(worker)
            self._refused[worker] = said
            warnings.warn(said, Note, stacklevel=2)
        elif came in (BAD, WRONG):
            raise (BadInput if came == BAD else CheckFailed)(said)
        else:
            hand.lost(worker, said)

    def _drop(self, worker: str) -> None:
        self._client.cancel([self._jobs.pop(worker)])

    def _refuse_nobody(self, there: set[str]) -> None:
        if there - self._refused.keys():
            self._seen = time.monotonic()
        elif there:
            said = next(iter(self._refused.values())).rstrip(".")
            raise BadInput(f"No worker of {self._address} can take part, for one says: {said}.")
        elif time.monotonic() - self._seen > PATIENCE:
            raise BadInput(f"No worker is at {self._address}; {HOW}.")

    def _workers(self) -> set[str]:
        try:
            return set(self._client.nthreads())
        except (OSError, TimeoutError) as error:
            raise BadInput(f"The scheduler at {self._address} has gone ({error}); see to it.") from error

    def _wait(self) -> None:
        if not self._jobs:
            time.sleep(POLL)
            return
        try:
            self._distributed.wait(list(self._jobs.values()), timeout=POLL, return_when="FIRST_COMPLETED")
        except (TimeoutError, OSError):
            return


def _heard(event: tuple[Any, Any]) -> tuple[str, int]:
    _, said = event
    return said["worker"], said["done"]


def _reason(future: Any) -> str:
    error = future.exception() if future.status == "error" else None
    return f"{type(error).__name__}: {error}" if error else str(future.status)


@contextmanager
def open_farm(address: str) -> Iterator[Farm]:
    """Yield the workers of the scheduler at `address`; with `local` or `local:N` they are started here.

    Raises BadInput where dask.distributed is not installed, and where no scheduler answers.
    """
    distributed = _library()
    if (local := LOCAL.fullmatch(address)) is None:
        with _client(distributed, address) as client:
            yield Farm(distributed, client, address)
        return
    cluster = distributed.LocalCluster(
        n_workers=int(local[1] or WORKERS),
        threads_per_worker=1,
        memory_limit=0,  # a pass bounds its own, and a worker must not be ended for it
        dashboard_address=None,
        silence_logs="CRITICAL",
        preload=["lamphouse.graph.transfer.farm.worker"],
    )
    with cluster, distributed.Client(cluster) as client:
        yield Farm(distributed, client, address)


def _library() -> Any:
    try:
        return importlib.import_module("distributed")
    except ImportError as error:
        raise BadInput(
            "--farm needs the library distributed, which is not installed; install lamphouse[farm]."
        ) from error


def _client(distributed: Any, address: str) -> Any:
    try:
        return distributed.Client(address, timeout=10)
    except (OSError, TimeoutError, ValueError) as error:
        raise BadInput(
            f"No scheduler answers at {address} ({error}); start one with `dask scheduler`."
        ) from error
