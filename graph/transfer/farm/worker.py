"""What runs on a worker of dask.distributed. It takes and returns plain data, whatever the version."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any, Final

MADE, REFUSED, STOPPED, BAD, WRONG = "made", "refused", "stopped", "bad input", "check failed"
SECONDS: Final = 0.5  # between words of how far it is


def work(order: bytes, topic: str) -> tuple[str, str]:
    """Make the segment that `order` asks for; return what came of it, and the sentence or the name for that.

    How far it is is told to whoever listens to `topic`. It stops where nobody wants it any more.
    """
    from distributed import get_worker

    from lamphouse.graph.transfer.farm.order import decode_order
    from lamphouse.graph.transfer.farm.segment import Refused, make_segment
    from lamphouse.nodes.errors import BadInput, CheckFailed, Stopped

    worker = get_worker()
    key = worker.get_current_task()
    try:
        path = make_segment(decode_order(order), _telling(worker, topic), lambda: _is_unwanted(worker, key))
    except Refused as error:
        return REFUSED, str(error)
    except Stopped as error:
        return STOPPED, str(error)
    except CheckFailed as error:
        return WRONG, str(error)
    except BadInput as error:
        return BAD, str(error)
    return MADE, path.name


def dask_setup(worker: Any) -> None:
    """Leave Ctrl-C to whoever started this worker: a terminal sends it to every process in it."""
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)


def _telling(worker: Any, topic: str) -> Callable[..., None]:
    told = 0.0

    def step(done: int, total: int, limit: str = "", /) -> None:
        nonlocal told
        if time.monotonic() - told >= SECONDS:
            told = time.monotonic()
            worker.log_event(topic, {"worker": worker.address, "done": done})

    return step


def _is_unwanted(worker: Any, key: Any) -> bool:
    task = worker.state.tasks.get(key)
    return task is None or task.state != "executing"
