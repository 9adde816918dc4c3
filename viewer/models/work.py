"""Long work of the window's pages on a thread of its own: it says how far it has come, and can be stopped."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from threading import Event, Thread
from typing import Final, Generic, TypeVar

from lamphouse.graph.progress import Step
from lamphouse.nodes.errors import BadInput, CheckFailed, Stopped

BETWEEN: Final = 0.1  # seconds between two words on how far it has come
PATIENCE: Final = 2.0  # seconds that a window which closes waits for work that was stopped

Result = TypeVar("Result")


@dataclass(frozen=True, slots=True)
class Outcome(Generic[Result]):
    """What work brought, or in a sentence why it brought nothing."""

    result: Result | None = None
    reason: str = ""


class _Run(Generic[Result]):
    """One piece of work under way."""

    def __init__(self, do: Callable[[Step], Result], before: Thread | None, wake: Callable[[], None]) -> None:
        self.is_stopped = Event()
        self.done, self.total = 0, 0
        self.outcome: Outcome[Result] | None = None
        self._told_at = 0.0
        self._do, self._before, self._wake = do, before, wake
        self.thread = Thread(target=self._work, name="work", daemon=True)
        self.thread.start()

    def step(self, done: int, total: int, limit: str = "", /) -> None:
        if self.is_stopped.is_set():
            raise Stopped("Stopped.")
        self.done, self.total = done, total
        if time.monotonic() - self._told_at > BETWEEN:
            self._told_at = time.monotonic()
            self._wake()

    def _work(self) -> None:
        if self._before is not None:
            self._before.join()  # two never work on the same files
        try:
            self.step(0, 0)
            outcome = Outcome(self._do(self.step))
        except Stopped:
            outcome = Outcome(reason="Stopped; nothing half-made is left.")
        except (BadInput, CheckFailed) as error:
            outcome = Outcome(reason=str(error))
        except OSError as error:
            name = error.filename or "A file"
            outcome = Outcome(
                reason=f"{name} cannot be used ({error.strerror or error}); give another place."
            )
        except Exception as error:  # whatever a file or a plug-in does, the window lives on
            outcome = Outcome(reason=f"This failed by a fault of ours ({type(error).__name__}: {error}).")
        self.outcome = outcome
        self._wake()


class Work(Generic[Result]):
    """One thing at a time: what is begun replaces what is under way. `wake` is called on other threads."""

    def __init__(self, wake: Callable[[], None]) -> None:
        self._wake = wake
        self._run: _Run[Result] | None = None
        self._told = (-1, -1)

    @property
    def is_under_way(self) -> bool:
        """Whether something is being done."""
        return self._run is not None

    @property
    def progress(self) -> tuple[int, int]:
        """What is done, and of how much; 0 of 0 while that is not known."""
        return (self._run.done, self._run.total) if self._run else (0, 0)

    def begin(self, do: Callable[[Step], Result]) -> None:
        """Do this on a thread; it is given a step to call, which raises Stopped once it is not wanted."""
        before = self._run
        self.stop()
        self._run = _Run(do, before.thread if before else None, self._wake)

    def stop(self) -> None:
        """Let what is under way end; `take` has its outcome then."""
        if self._run is not None:
            self._run.is_stopped.set()

    def drop(self) -> None:
        """Let what is under way end, and forget it."""
        self.stop()
        self._run = None

    def take(self) -> Outcome[Result] | None:
        """Return the outcome once it is there, once."""
        if self._run is None or self._run.outcome is None:
            return None
        outcome, self._run = self._run.outcome, None
        return outcome

    def take_progress(self) -> bool:
        """Say whether it has come farther since the last call."""
        before, self._told = self._told, self.progress
        return before != self._told

    def close(self) -> None:
        """Stop, and wait for its end, but not for long."""
        run = self._run
        self.drop()
        if run is not None:
            run.thread.join(PATIENCE)
