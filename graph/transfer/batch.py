"""Many passes one after the other, unattended: what goes wrong in one does not stop the rest.

A batch keeps nothing of its own. The masters, their records and what passes leave say how far it has come, so
that the same command, given again, goes on with it.
"""

from __future__ import annotations

import os
import traceback
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.master.master import Master
from lamphouse.graph.media.master.pass_record import differences
from lamphouse.graph.media.master.record import load_record
from lamphouse.graph.media.master.resume import can_resume
from lamphouse.graph.media.master.under_way import UnderWay
from lamphouse.graph.transfer.made_of import made_of
from lamphouse.graph.transfer.plan import Plan
from lamphouse.nodes.errors import BadInput, CheckFailed, Stopped
from lamphouse.nodes.regular_file import read_regular

End = Literal["made", "finished before", "failed", "stopped", "not begun"]


@dataclass(frozen=True, slots=True)
class Outcome:
    """How the pass of one reel ended: where its master is, how many frames, and in a sentence."""

    reel: str
    end: End
    sentence: str
    master: str = ""
    frames: int = 0
    kept: int = 0
    faults: int = 0  # that a check beside the pass found in it

    @property
    def is_good(self) -> bool:
        """Say whether the master is there."""
        return self.end in ("made", "finished before")


def listed_reels(file: Path) -> list[Path]:
    """Return the reels that a text file lists, a line each, relative to its folder.

    Empty lines are passed over, and those that begin with #. Raises BadInput.
    """
    try:
        lines = read_regular(file).decode("utf-8-sig").splitlines()
    except OSError as error:
        raise BadInput(f"{file} cannot be read ({error.strerror}); give a text file of reels.") from error
    except UnicodeDecodeError as error:
        raise BadInput(f"{file} is not text in UTF-8; write a reel on each of its lines.") from error
    named = [line.strip() for line in lines]
    reels = [file.parent / name for name in named if name and not name.startswith("#")]
    if not reels:
        raise BadInput(f"{file} lists no reels; write one on each line.")
    return reels


def check_batch(reels: Sequence[Path], folder: Path) -> None:
    """Raise BadInput where masters named after these reels cannot all stand in `folder`."""
    if not folder.is_dir():
        raise BadInput(f"{folder} is not a folder; give one in which each master is named after its reel.")
    first: dict[str, Path] = {}
    for reel in reels:
        other = first.setdefault(reel.stem.casefold(), reel)  # some systems do not tell a from A
        if other is not reel:
            raise BadInput(f"{other} and {reel} would make a master of one name; transfer them apart.")


def run_batch(reels: Sequence[Path], run: Callable[[Path], Outcome]) -> Iterator[Outcome]:
    """Yield how `run` ended for each reel. After Ctrl-C the others are told to be not begun."""
    is_stopped = False
    for reel in reels:
        if is_stopped:
            yield Outcome(str(reel), "not begun", "It was not begun.")
            continue
        outcome = _outcome(reel, run)
        is_stopped = outcome.end == "stopped"
        yield outcome


def _outcome(reel: Path, run: Callable[[Path], Outcome]) -> Outcome:
    try:
        return run(reel)
    except (Stopped, KeyboardInterrupt) as stop:
        return Outcome(str(reel), "stopped", str(stop) or "Stopped.")
    except (BadInput, CheckFailed) as error:
        return Outcome(str(reel), "failed", str(error))
    except Exception as error:  # our own fault: it is shown whole, and still the rest is done
        traceback.print_exc()
        return Outcome(str(reel), "failed", f"{type(error).__name__}, which is a fault of the program.")


def is_finished(pass_: Plan, master: Path) -> bool:
    """Say whether `master` is there, made of the very things that `pass_` would make it of.

    Raises BadInput where something else has its name, with what differs.
    """
    if not os.path.lexists(master):
        return False
    record = load_record(master)
    with Grade(pass_.opened) as grade:
        others = differences(made_of(pass_, grade), record.made_of)
    if others:
        raise BadInput(
            f"{master} exists already and was made with a difference in {', '.join(others)}; insert what has "
            "changed, or remove or rename it and transfer again."
        )
    return True


def way_to_begin(pass_: Plan, master: Path, *, discard: bool) -> tuple[bool, bool]:
    """Return whether a pass of which nobody can be asked resumes what is left, and whether it discards it.

    It discards where that was asked for, and where nothing else can be done with it.
    """
    resume = can_resume(pass_.delivery) and not discard
    return resume, discard or bool(UnderWay(master).left and not resume)


def made(reel: Path, master: Master, faults: int = 0) -> Outcome:
    """Return the outcome of a pass that ended well, with the faults that a check beside it found."""
    kept = f", {master.kept} of them kept" if master.kept else ""
    sentence = f"{master.path} is made, {master.frames} frames{kept}."
    return Outcome(str(reel), "made", sentence, str(master.path), master.frames, master.kept, faults)


def finished_before(reel: Path, pass_: Plan, master: Path) -> Outcome:
    """Return the outcome where the master was there."""
    sentence = f"{master} was finished before, made of the same."
    return Outcome(str(reel), "finished before", sentence, str(master), pass_.frames)
