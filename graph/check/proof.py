"""A finished master proved: by its record, and by its reel where that is given."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path

from lamphouse.graph.check.again import check_against, make_again
from lamphouse.graph.check.findings import Findings
from lamphouse.graph.check.verify import check_files, check_pictures
from lamphouse.graph.media.master.record import load_record
from lamphouse.graph.progress import Step
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.errors import BadInput

Stage = Callable[[str], AbstractContextManager[Step]]


def prove(
    master: Path,
    stage: Stage,
    is_asked: Callable[[], bool],
    opened: OpenedReel | None = None,
    *,
    quick: bool = False,
) -> Findings:
    """Return what is wrong with a master; with a reel every frame is made again and compared.

    Where it is `quick` nothing is decoded. Raises BadInput where there is no master or no record of it, and
    Stopped once `is_asked` says so.
    """
    if not master.exists():
        raise BadInput(f"There is no master {master}; give the file or folder of a finished one.")
    record = load_record(master)
    found = check_files(master, record)
    if quick:
        return found
    with stage(f"Decoding {master.name}") as step:
        of_pictures, decoded = check_pictures(master, record, step, is_asked)
    found.join(of_pictures)
    if opened is not None:
        with stage(f"Making {master.name} again") as step:
            again = make_again(opened, record, step, is_asked)
        found.join(check_against(again, master, record, decoded))
    return found
