"""The process that works: it does what an order asks for, and says how that ended."""

from __future__ import annotations

import os
import re
import traceback
import warnings
from multiprocessing.connection import Connection
from typing import Any, Final, Protocol

from lamphouse.nodes.errors import BadInput, CheckFailed, Note, Stopped
from lamphouse.viewer.jobs.said import Ended, Outcome
from lamphouse.viewer.jobs.told import Told

NICE: Final = 2  # so that the hand at the desk goes before the pass, and little else does (ours)


class Order(Protocol):
    """What is asked of another process: plain data, and what to do with it."""

    def run(self, told: Told) -> Outcome:
        """Do it. Raises BadInput, CheckFailed, and Stopped once `told` is asked to stop."""


def work(order: Order, wire: Connection) -> None:
    """Do what `order` asks for and say over `wire` how it goes; a fault of the program is printed here."""
    if hasattr(os, "nice"):
        os.nice(NICE)
    told = Told(wire)

    def noted(message: Warning | str, category: type[Warning], *_: Any) -> None:
        if issubclass(category, Note):
            told.note(str(message))

    with warnings.catch_warnings():
        warnings.showwarning = noted  # type: ignore[assignment]  # it is called by place, not by name
        told.end(_ended(order, told))


def _ended(order: Order, told: Told) -> Ended:
    try:
        return Ended("done", outcome=order.run(told))
    except (Stopped, KeyboardInterrupt) as stop:
        return Ended("stopped", _said(stop) or "Stopped.")
    except BadInput as error:
        return Ended("refused", _said(error))
    except CheckFailed as error:
        return Ended("failed", _said(error), number=_frame_of(str(error)))
    except Exception as error:  # our own fault: it is shown whole where the desk was started
        traceback.print_exc()
        return Ended("broken", f"{type(error).__name__}, which is a fault of the program, ended the work.")


def _said(error: BaseException) -> str:
    """Return the sentence of an error without the options of a command, for which the desk has buttons."""
    return re.sub(r" with --[a-z-]+", "", str(error))


def _frame_of(sentence: str) -> int | None:
    """Return the frame of the master that a sentence begins with, as `Span.words` calls it."""
    found = re.match(r"Frame ([0-9]+) ", sentence)
    return int(found[1]) if found else None
