"""Shots that arrive in a list of somebody else's become cues and marks; what the reel has is kept.

Readers of lists make `Arrived` of a file and know nothing of edits; this knows nothing of files.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final, Literal

import msgspec

from lamphouse.graph.cues.settings import OFF, ON, SWITCH, Controls, CueList
from lamphouse.graph.edits.cdl import cdl_settings
from lamphouse.graph.edits.cues import node_of
from lamphouse.graph.edits.marks import join_marks, marks_at
from lamphouse.graph.edits.several import set_cues
from lamphouse.graph.reel.records import Cue, Mark, Reel
from lamphouse.nodes.cdl import Cdl
from lamphouse.nodes.errors import BadInput, clause

By = Literal["record", "source"]
Place = int | str  # a frame of the reel, or, as a clause, why it is none

STANDS: Final = "the reel has a cue there, which is kept"
TWICE: Final = "another of the list begins there"
OWN: Final = "the cue there has settings of its own in their place, which are kept"
OTHER_SOURCE: Final = "of another source"
OUTSIDE: Final = "outside the reel"
WITHOUT_SHOT: Final = "in no shot that is taken"


@dataclass(frozen=True, slots=True)
class Left:
    """Something that is not taken: what it is, why as a clause, and where in the list it stands."""

    what: str
    why: str
    where: str = ""


@dataclass(frozen=True, slots=True)
class Arrival:
    """A shot of a list: where its picture stands alone, by each of its times, and what is said of it.

    Before that lie `transition` frames of a dissolve into it. It holds for `frames`, and `marks` lie so many
    frames from its place. `reel` is what the list calls its source, which `is_ours` where that is the scan.
    """

    where: str
    source: Place
    record: Place
    frames: int
    name: str = ""
    reel: str = ""
    is_ours: bool = False
    transition: int = 0
    ease: str = "soft"
    cdl: Cdl | None = None
    marks: tuple[Mark, ...] = ()


@dataclass(frozen=True, slots=True)
class Arrived:
    """All that a list brings: shots, CDLs for cues that stand, by frame, and what was not read."""

    shots: tuple[Arrival, ...] = ()
    cdls: tuple[tuple[int, Cdl], ...] = ()
    left: tuple[Left, ...] = ()


@dataclass(frozen=True, slots=True)
class Taken:
    """A reel with what it took of a list, how many of each kind, and what it left.

    `by` says by which times shots were placed, and `ends` counts cues that only end a CDL.
    """

    reel: Reel
    by: By
    cues: int
    transitions: int
    cdls: int
    ends: int
    marks: int
    left: tuple[Left, ...]

    @property
    def is_any(self) -> bool:
        """Whether the list brought anything."""
        return any((self.cues, self.cdls, self.marks))


def take_arrived(
    reel: Reel, controls: Controls, arrived: Arrived, by: By | None = None, source: str | None = None
) -> Taken:
    """Return `reel` with the shots of a list as cues and marks, where its record or source times say.

    Where neither is asked for it is those by which more of them lie in the reel, the record's if as many. By
    source times only shots of one `source` count: the reel's scan where the list names it. A cue that stands
    stays as it is, but for a CDL where it has none; a shot without one keeps what held there. Raises BadInput
    where source times are of several sources and none is chosen.
    """
    by = by or ("source" if source is not None else better_times(arrived.shots))
    left = list(arrived.left)
    shots = _placed(reel, arrived.shots, by, source, left)
    wanted = {**{frame: shot.cdl for frame, shot in shots.items() if shot.cdl}, **dict(arrived.cdls)}
    cdls = _settings(reel, controls, wanted, left)
    ends = _ends(reel, shots, cdls)
    new = {frame: shot for frame, shot in shots.items() if frame not in _standing(reel)}
    changed, lengths = _with_cues(reel, controls, new, cdls, ends)
    marks = [mark for mark in _marks(reel, shots, left) if mark not in marks_at(reel, mark.frame, mark.kind)]
    left += [Left("shot", STANDS, shot.where) for frame, shot in shots.items() if frame not in new]
    return Taken(
        join_marks(changed, marks), by, len(new), len(lengths), len(cdls), len(ends), len(marks), tuple(left)
    )


def better_times(shots: Iterable[Arrival]) -> By:
    """Return by which times more shots lie in the reel, the record's if as many."""
    counts = {by: sum(isinstance(getattr(s, by), int) for s in shots) for by in ("record", "source")}
    return "source" if counts["source"] > counts["record"] else "record"


def _standing(reel: Reel) -> dict[int, Cue]:
    return {cue.frame: cue for cue in reel.cues}


def _placed(
    reel: Reel, shots: tuple[Arrival, ...], by: By, source: str | None, left: list[Left]
) -> dict[int, Arrival]:
    """Return the shots that have a place, by their frame and in its order."""
    if by == "source":
        shots = _of_one_source(shots, source, left)
    found: dict[int, Arrival] = {}
    for shot in shots:
        place: Place = getattr(shot, by)
        if isinstance(place, str):
            left.append(Left("shot", place, shot.where))
        elif place in found:
            left.append(Left("shot", TWICE, shot.where))
        else:
            found[place] = shot
            continue
        left += [Left("mark", WITHOUT_SHOT, shot.where) for _ in shot.marks]
    return dict(sorted(found.items()))


def _of_one_source(shots: tuple[Arrival, ...], source: str | None, left: list[Left]) -> tuple[Arrival, ...]:
    names = dict.fromkeys(shot.reel for shot in shots)
    ours = {shot.reel for shot in shots if shot.is_ours}
    if source is not None:
        ours = {source} & set(names)
    if not ours and (len(names) > 1 or source is not None):
        known = ", ".join(name or "one without a name" for name in [*names][:9])
        raise BadInput(
            f"The list's sources are {known}; give --source with the one that this reel's scan is, or "
            "--by record."
        )
    chosen = tuple(shot for shot in shots if not ours or shot.reel in ours)
    left += [Left("shot", OTHER_SOURCE, shot.where) for shot in shots if ours and shot.reel not in ours]
    return chosen


def _settings(
    reel: Reel, controls: Controls, wanted: Mapping[int, Cdl], left: list[Left]
) -> dict[int, dict[str, Any]]:
    """Return the settings by which the chain does what each CDL does, where nothing of the reel's is lost."""
    standing, cues = _standing(reel), CueList(reel.cues, controls)
    found = {}
    for frame, cdl in sorted(wanted.items()):
        held = _held(cues, frame)
        try:
            settings = cdl_settings(cdl, controls, reel.chain, held)
        except BadInput as error:
            left.append(Left("CDL", clause(error)))
            continue
        now = controls.effective(held)
        if all(now[key] == value for key, value in settings.items()):
            continue  # it is so already
        if frame in standing and any(now[key] != controls.neutral[key] for key in settings):
            left.append(Left("CDL", OWN))
        else:
            found[frame] = settings | _switched_on(settings, held)
    return found


def _held(cues: CueList, frame: int) -> Mapping[str, Any]:
    """Return the settings, as they are written, of the cue that holds at `frame`."""
    index = cues.holding(frame)
    return {} if index is None else cues.cues[index].settings


def _switched_on(settings: Mapping[str, Any], held: Mapping[str, Any]) -> dict[str, str]:
    switches = (f"{of}.{SWITCH}" for key in settings for of in (node_of(key), key))
    return {switch: ON for switch in switches if held.get(switch) == OFF}


def _ends(reel: Reel, shots: Mapping[int, Arrival], cdls: Mapping[int, Any]) -> list[int]:
    """Return where a CDL has to end since neither the list nor the reel has anything there."""
    edges = sorted({*shots, *(at - shot.transition for at, shot in shots.items()), *_standing(reel)})
    found = []
    for frame in cdls:
        if (shot := shots.get(frame)) is not None:
            stop = min(frame + shot.frames, reel.scan.frames)
            at = bisect_right(edges, frame)
            if stop < (edges[at] if at < len(edges) else reel.scan.frames):
                found.append(stop)
    return found


def _with_cues(
    reel: Reel,
    controls: Controls,
    new: Mapping[int, Arrival],
    cdls: Mapping[int, dict[str, Any]],
    ends: list[int],
) -> tuple[Reel, dict[int, int]]:
    """Return the reel with new cues, CDLs and ends of these, and the lengths of transitions into new ones."""
    cues = CueList(reel.cues, controls)
    keys = {key for settings in cdls.values() for key in settings}
    back = {frame: dict(_before(keys, _held(cues, frame), controls)) for frame in (*new, *ends)}
    lengths = dict(_lengths(cues, new, ends))
    changed = set_cues(reel, {**back, **cdls}, controls, lengths)

    def without_idle(settings: Mapping[str, Any]) -> dict[str, Any]:
        idle = {key: controls.neutral[key] for key in keys if key in controls.parameters}
        return {k: v for k, v in controls.check(settings, "").items() if k not in idle or v != idle[k]}

    def told(cue: Cue) -> Cue:
        if cue.frame not in back:
            return cue
        shot = new.get(cue.frame)
        name = {"name": shot.name} if shot else {}
        ease = {"ease": shot.ease} if shot and cue.frame in lengths else {}
        return msgspec.structs.replace(cue, settings=without_idle(cue.settings), **name, **ease)

    return msgspec.structs.replace(changed, cues=tuple(map(told, changed.cues))), lengths


def _before(keys: Iterable[str], held: Mapping[str, Any], controls: Controls) -> Iterator[tuple[str, Any]]:
    """Yield for each key of a CDL what was set before any came, so that none passes on to the next shot."""
    for key in keys:
        default = controls.neutral[key] if key in controls.parameters else ON
        yield key, held.get(key, default)


def _lengths(cues: CueList, new: Mapping[int, Arrival], ends: list[int]) -> Iterator[tuple[int, int]]:
    """Yield how long the transition into each new cue is that begins with one: as far as there is room."""
    edges = sorted({0, *new, *ends, *(cue.frame for cue in cues.cues)})
    for frame, shot in new.items():
        room = frame - edges[max(0, bisect_left(edges, frame) - 1)]
        if min(room, shot.transition) > 0 and cues.arriving(frame) is None:
            yield frame, min(room, shot.transition)


def _marks(reel: Reel, shots: Mapping[int, Arrival], left: list[Left]) -> Iterator[Mark]:
    for first, shot in shots.items():
        for mark in shot.marks:
            frame = first + mark.frame
            if 0 <= frame < reel.scan.frames:
                frames = max(1, min(mark.frames, reel.scan.frames - frame))
                yield msgspec.structs.replace(mark, frame=frame, frames=frames)
            else:
                left.append(Left("mark", OUTSIDE, shot.where))
