"""A list of somebody else's, read for what a reel can take, and what was taken of it in words."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from lamphouse.graph.edits.arrivals import Arrived, By, Left, Taken, take_arrived
from lamphouse.graph.handover.cdl_file import cue_id, read_corrections, unique_ids
from lamphouse.graph.handover.lists.read_events import read_events
from lamphouse.graph.handover.lists.read_timeline import read_timeline
from lamphouse.graph.reel.records import Reel
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.errors import BadInput, clause
from lamphouse.nodes.one_line import one_line
from lamphouse.nodes.regular_file import read_regular

ENDINGS: Final = (".edl", ".otio", ".ccc", ".cdl", ".cc")
BUNDLES: Final = (".otioz", ".otiod")


def read_list(path: Path, reel: Reel) -> Arrived:
    """Return what the file `path` brings to `reel`: by its ending an event list, a timeline or CDLs.

    No file that it names is opened. Raises BadInput for what cannot be read.
    """
    ending = path.suffix.lower()
    if ending in BUNDLES:
        raise BadInput(f"{path} is a bundle with media, which is not read; give the .otio that is in it.")
    if ending not in ENDINGS:
        raise BadInput(f"{path} is not read as a list; give a file that ends in {', '.join(ENDINGS)}.")
    if ending not in (".edl", ".otio"):
        return _corrections(path, reel)
    try:
        data = read_regular(path)
    except OSError as error:
        raise BadInput(f"{path} cannot be read ({error.strerror}); give another file.") from error
    return (read_events if ending == ".edl" else read_timeline)(data, str(path), reel)


def take_list(opened: OpenedReel, path: Path, by: By | None = None, source: str | None = None) -> Taken:
    """Return what the reel takes of the list in the file `path`, as `take_arrived` does.

    Raises BadInput, with the first reason, where it takes nothing.
    """
    taken = take_arrived(opened.reel, opened.controls(), read_list(path, opened.reel), by, source)
    if not taken.is_any:
        why = next(left_lines(taken), "it brings nothing")
        raise BadInput(f"Nothing of {path} was taken: {clause(why)}.")
    return taken


def _corrections(path: Path, reel: Reel) -> Arrived:
    """Return the CDLs of a file for the cues that they are called after, as they leave here too."""
    names = [cue_id(cue) for cue in reel.cues]
    frames = [cue.frame for cue in reel.cues]
    known = dict(zip([*names, *unique_ids(names)][::-1], [*frames, *frames][::-1], strict=True))
    found, left = [], []
    for id_, cdl in read_corrections(path):
        if isinstance(cdl, str):
            left.append(Left("CDL", "its numbers cannot be read", f"the id {id_}"))
        elif id_ not in known:
            left.append(Left("CDL", "no cue of the reel is called so", f"the id {id_}" if id_ else "no id"))
        else:
            found.append((known[id_], cdl))
    return Arrived(cdls=tuple(found), left=tuple(left))


def taken_lines(taken: Taken, hint: str = "") -> Iterator[str]:
    """Yield what was taken, a sentence a kind; `hint` stands behind the times that cues were placed by."""
    if taken.cues:
        yield f"{_counted(taken.cues, 'cue')} set, placed by the {taken.by} times of the list{hint}."
    if taken.transitions:
        begin = "begins" if taken.transitions == 1 else "begin"
        yield f"{taken.transitions} of these {begin} with a transition, as the list has it."
    if taken.cdls:
        yield f"{_counted(taken.cdls, 'CDL')} put into the settings of cues."
    if taken.ends:
        yield f"{_counted(taken.ends, 'cue')} more where a CDL ends and the list has nothing after it."
    if taken.marks:
        yield f"{_counted(taken.marks, 'mark')} set."


def left_lines(taken: Taken) -> Iterator[str]:
    """Yield what was left, a sentence for each kind and reason with the first place of it, most first."""
    kinds: dict[tuple[str, str], list[str]] = defaultdict(list)
    for left in taken.left:
        kinds[left.what, left.why].append(left.where)
    for (what, why), places in sorted(kinds.items(), key=lambda kind: -len(kind[1])):
        first = next(filter(None, places), "")
        where = f" ({'the first ' if len(places) > 1 else ''}at {one_line(first)})" if first else ""
        yield f"{_counted(len(places), what)} left{where}: {why}."


def _counted(count: int, what: str) -> str:
    if count == 1:
        return f"1 {what}"
    word, _, rest = what.partition(" ")
    return f"{count} {word}s {rest}".rstrip()
