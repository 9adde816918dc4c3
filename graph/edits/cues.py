"""Edits: each takes a reel and returns another. Undo is the reel before."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import msgspec

from lamphouse.graph.cues.easing import check_ease
from lamphouse.graph.cues.settings import Controls, CueList
from lamphouse.graph.edits.ramps import parted_at
from lamphouse.graph.edits.wires import with_name
from lamphouse.graph.reel.counters import counter
from lamphouse.graph.reel.records import ChainRef, Cue, Reel
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput, near_names
from lamphouse.nodes.values import Travel, Value


def cue_at(reel: Reel, frame: int) -> Cue | None:
    """Return the cue whose frame is `frame`, or None."""
    return next((cue for cue in reel.cues if cue.frame == frame), None)


def cue_named(reel: Reel, name: str) -> Cue | None:
    """Return the first cue of that name, or None."""
    return next((cue for cue in reel.cues if name and cue.name == name), None)


def cue_holding(reel: Reel, frame: int) -> Cue | None:
    """Return the last cue at or before `frame`, or None before the first."""
    earlier = (cue for cue in reel.cues if cue.frame <= frame)
    return max(earlier, key=lambda cue: cue.frame, default=None)


def find_cue(reel: Reel, text: str) -> Cue:
    """Return the cue that `text` names, or that stands at that place; else raise BadInput with near names."""
    cue = cue_named(reel, text)
    if cue is None and text[:1].isdigit():
        cue = cue_at(reel, counter(reel).find(text))
    if cue is None:
        known = [cue.name or str(cue.frame) for cue in reel.cues]
        raise BadInput(f"There is no cue {text} in this reel{near_names(text, known)}.")
    return cue


def next_cue(reel: Reel, frame: int) -> int | None:
    """Return the frame of the first cue after `frame`, or None."""
    return min((cue.frame for cue in reel.cues if cue.frame > frame), default=None)


def previous_cue(reel: Reel, frame: int) -> int | None:
    """Return the frame of the last cue before `frame`, or None."""
    return max((cue.frame for cue in reel.cues if cue.frame < frame), default=None)


def check_frame(reel: Reel, frame: int) -> None:
    """Raise BadInput for a frame outside the reel."""
    if not 0 <= frame < reel.scan.frames:
        raise BadInput(f"Frame {frame} lies outside the reel, which has frames 0 to {reel.scan.frames - 1}.")


def set_cue(reel: Reel, frame: int, controls: Controls, settings: Mapping[str, Any], **changes: Any) -> Reel:
    """Return `reel` with the cue at `frame` changed, or made where there is none.

    A new cue begins with the settings of the cue that holds there. `settings` are laid over
    them; `changes` are other fields of the cue: name, begins, length, ease. Raises BadInput
    for a frame outside the reel, and for settings and transitions that cannot be.
    """
    check_frame(reel, frame)
    if cue_at(reel, frame) is None:
        reel = store_cue(reel, frame, controls)
    laid_over = {**_cue(reel, frame).settings, **controls.check(settings, "")}
    return change_cue(reel, frame, controls, settings=laid_over, **changes)


def change_cue(reel: Reel, frame: int, controls: Controls, **changes: Any) -> Reel:
    """Return `reel` with other fields of the cue at `frame`: name, begins, length, ease, all of its settings.

    Raises BadInput where there is no cue, and for settings and transitions that cannot be.
    """
    if "ease" in changes:  # also at a cut, where a mistyped one would lie in wait for a later transition
        check_ease(changes["ease"], f"Cue at frame {frame}")
    cue = msgspec.structs.replace(_cue(reel, frame), **changes)
    if cue.begins == "cut":
        cue = msgspec.structs.replace(cue, length=0)
    return with_cues(reel, [cue if c.frame == frame else c for c in reel.cues], controls)


def add_cue(reel: Reel, cue: Cue, controls: Controls) -> Reel:
    """Return `reel` with one more cue. Raises BadInput outside the reel and where there is a cue already."""
    check_frame(reel, cue.frame)
    if cue_at(reel, cue.frame) is not None:
        raise BadInput(f"There is a cue at {counter(reel).readings(cue.frame).timecode} already.")
    return with_cues(reel, [*reel.cues, cue], controls)


def store_cue(reel: Reel, frame: int, controls: Controls, name: str = "") -> Reel:
    """Return `reel` with a new cue at `frame` that begins with what is set there.

    Within a transition it parts that: every frame looks as before, up to the last digits of numbers.
    """
    check_frame(reel, frame)
    parts = parted_at(reel, frame, controls)
    if parts is not None:
        new, rest = parts
        kept = [rest if cue.frame == rest.frame else cue for cue in reel.cues]
        return with_cues(reel, [*kept, msgspec.structs.replace(new, name=name)], controls)
    before = cue_holding(reel, frame)
    return add_cue(
        reel, Cue(frame=frame, name=name, settings=dict(before.settings) if before else {}), controls
    )


def copy_cue(reel: Reel, frame: int, to: int, controls: Controls) -> Reel:
    """Return `reel` with the cue at `frame` at `to` as well; its transition is as long as there is room."""
    cue = _cue(reel, frame)
    length = cue.length if cue.begins == "transition" else 0
    return add_cue(reel, msgspec.structs.replace(cue, frame=to, **_beginning(reel, to, length)), controls)


def move_cue(reel: Reel, frame: int, to: int, controls: Controls) -> Reel:
    """Return `reel` with the cue at `frame` at the nearest place to `to` that it can have."""
    to = nearest_place(reel, frame, to)
    moved = msgspec.structs.replace(_cue(reel, frame), frame=to)
    return with_cues(reel, [moved if cue.frame == frame else cue for cue in reel.cues], controls)


def nearest_place(reel: Reel, frame: int, to: int) -> int:
    """Return the frame nearest to `to` at which the cue at `frame` can stand, between its neighbours."""
    low, high = previous_cue(reel, frame), next_cue(reel, frame)
    length = _cue(reel, frame).length
    lowest = length if low is None else low + max(1, length)
    highest = reel.scan.frames - 1 if high is None else high - max(1, _cue(reel, high).length)
    return max(lowest, min(to, highest))


def set_length(reel: Reel, frame: int, length: int, controls: Controls) -> Reel:
    """Return `reel` with a transition to the cue at `frame`, as long as there is room; 0 is a cut."""
    return change_cue(reel, frame, controls, **_beginning(reel, frame, length))


def reset_cue(reel: Reel, frame: int, controls: Controls, key: str = "") -> Reel:
    """Return `reel` with a parameter of the cue at `frame`, or all of them, back to neutral.

    What the cue sets on nodes that are missing here stays.
    """
    return change_cue(reel, frame, controls, settings=reset_settings(_cue(reel, frame), controls, key))


def reset_settings(cue: Cue, controls: Controls, key: str = "") -> dict[str, Any]:
    """Return what a cue sets without one parameter, or without all that are known here."""
    known = {key} if key else {*controls.parameters, *controls.switches}
    return {k: v for k, v in cue.settings.items() if k not in known}


def averaged(cue: Cue, other: Cue, controls: Controls, share: float) -> dict[str, Value]:
    """Return what differs between two cues, at `share` of the way; what changes in one step is left out."""
    start, end = (controls.effective(controls.check(c.settings, "")) for c in (cue, other))
    return {
        key: parameter.between(start[key], end[key], share)
        for key, parameter in controls.parameters.items()
        if start[key] != end[key] and parameter.travel is not Travel.STEP
    }


def remove_cue(reel: Reel, frame: int, controls: Controls) -> Reel:
    """Return `reel` without the cue at `frame`, or raise BadInput where there is none."""
    gone = _cue(reel, frame, "remove")
    return with_cues(reel, [cue for cue in reel.cues if cue is not gone], controls)


def set_chain(reel: Reel, chain: ChainRef) -> Reel:
    """Return `reel` with another chain; what cues set on nodes that are gone, and tracks move, goes too."""
    names = {ref.name for ref in chain.nodes}
    gone = {ref.name for ref in reel.chain.nodes} - names

    def kept(cue: Cue) -> Cue:
        settings = {k: v for k, v in cue.settings.items() if node_of(k) not in gone}
        return cue if settings == cue.settings else msgspec.structs.replace(cue, settings=settings)

    tracks = tuple(track for track in reel.tracks if node_of(track.parameter) not in gone)
    cues = tuple(kept(cue) for cue in reel.cues)
    return msgspec.structs.replace(reel, chain=chain, cues=cues, tracks=tracks)


def rename_node(reel: Reel, catalogue: Catalogue, name: str, new: str) -> Reel:
    """Return `reel` with a node of its chain called `new`, in its cues and tracks as well.

    Raises BadInput for a name that is taken, has a dot, or is none.
    """
    chain = with_name(reel.chain, catalogue, name, new)

    def now(key: str) -> str:
        return f"{new}{key[len(name) :]}" if node_of(key) == name else key

    def renamed(cue: Cue) -> Cue:
        return msgspec.structs.replace(cue, settings={now(k): v for k, v in cue.settings.items()})

    tracks = tuple(msgspec.structs.replace(t, parameter=now(t.parameter)) for t in reel.tracks)
    cues = tuple(renamed(cue) for cue in reel.cues)
    return msgspec.structs.replace(reel, chain=chain, cues=cues, tracks=tracks)


def node_of(key: str) -> str:
    """Return the node that a parameter or switch belongs to, by its full name."""
    return key.partition(".")[0]


def _cue(reel: Reel, frame: int, what: str = "change") -> Cue:
    """Return the cue at `frame`, or raise BadInput that says what could not be done with it."""
    cue = cue_at(reel, frame)
    if cue is None:
        known = [str(cue.frame) for cue in reel.cues]
        raise BadInput(f"There is no cue at frame {frame} to {what}{near_names(str(frame), known)}.")
    return cue


def _beginning(reel: Reel, frame: int, length: int) -> dict[str, Any]:
    """Return how a cue at `frame` begins with as much of `length` as there is room for."""
    taken = max(0, min(length, frame - (previous_cue(reel, frame) or 0)))
    return {"begins": "transition" if taken else "cut", "length": taken}


def with_cues(reel: Reel, cues: Iterable[Cue], controls: Controls) -> Reel:
    """Return `reel` with these cues in place of its own. Raises BadInput where they cannot be together."""
    return msgspec.structs.replace(reel, cues=CueList(tuple(cues), controls).cues)
