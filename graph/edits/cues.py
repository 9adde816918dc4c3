"""Edits: each takes a reel and returns another. Undo is the reel before."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec

from lamphouse.graph.cues.easing import check_ease
from lamphouse.graph.cues.settings import Controls, CueList
from lamphouse.graph.edits.wires import with_name
from lamphouse.graph.reel.counters import counter
from lamphouse.graph.reel.records import ChainRef, Cue, Reel
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput, near_names


def cue_at(reel: Reel, frame: int) -> Cue | None:
    """Return the cue whose frame is `frame`, or None."""
    return next((cue for cue in reel.cues if cue.frame == frame), None)


def cue_named(reel: Reel, name: str) -> Cue | None:
    """Return the first cue of that name, or None."""
    return next((cue for cue in reel.cues if name and cue.name == name), None)


def cue_holding(reel: Reel, frame: int) -> Cue | None:
    """Return the last cue at or before `frame`, or None before the first."""
    held = (cue for cue in reel.cues if cue.frame <= frame)
    return max(held, key=lambda cue: cue.frame, default=None)


def find_cue(reel: Reel, text: str) -> Cue:
    """Return the cue that `text` names, or that stands at that place; else raise BadInput with near names."""
    cue = cue_named(reel, text)
    if cue is None and text[:1].isdigit():
        cue = cue_at(reel, counter(reel).find(text))
    if cue is None:
        known = [cue.name or str(cue.frame) for cue in reel.cues]
        raise BadInput(f"There is no cue {text} in this reel{near_names(text, known)}.")
    return cue


def set_cue(reel: Reel, frame: int, controls: Controls, settings: Mapping[str, Any], **changes: Any) -> Reel:
    """Return `reel` with the cue at `frame` changed, or made where there is none.

    A new cue begins with the settings of the cue that holds there. `settings` are laid over
    them; `changes` are other fields of the cue: name, begins, length, ease. Raises BadInput
    for a frame outside the reel, and for settings and transitions that cannot be.
    """
    if not 0 <= frame < reel.scan.frames:
        raise BadInput(f"Frame {frame} lies outside the reel, which has frames 0 to {reel.scan.frames - 1}.")
    before = cue_holding(reel, frame)
    cue = cue_at(reel, frame) or Cue(frame=frame, settings=dict(before.settings) if before else {})
    checked = controls.check(settings, "")
    if "ease" in changes:  # also at a cut, where a mistyped one would lie in wait for a later transition
        check_ease(changes["ease"], f"Cue at frame {frame}")
    cue = msgspec.structs.replace(cue, settings={**cue.settings, **checked}, **changes)
    if cue.begins == "cut":
        cue = msgspec.structs.replace(cue, length=0)
    return _with_cues(reel, [c for c in reel.cues if c.frame != frame] + [cue], controls)


def remove_cue(reel: Reel, frame: int, controls: Controls) -> Reel:
    """Return `reel` without the cue at `frame`, or raise BadInput where there is none."""
    if cue_at(reel, frame) is None:
        known = [str(cue.frame) for cue in reel.cues]
        raise BadInput(f"There is no cue at frame {frame} to remove{near_names(str(frame), known)}.")
    return _with_cues(reel, [c for c in reel.cues if c.frame != frame], controls)


def set_chain(reel: Reel, chain: ChainRef) -> Reel:
    """Return `reel` with another chain; what its cues set on nodes that are gone goes with them."""
    names = {ref.name for ref in chain.nodes}
    gone = {ref.name for ref in reel.chain.nodes} - names

    def kept(cue: Cue) -> Cue:
        settings = {k: v for k, v in cue.settings.items() if _node(k) not in gone}
        return cue if settings == cue.settings else msgspec.structs.replace(cue, settings=settings)

    return msgspec.structs.replace(reel, chain=chain, cues=tuple(kept(cue) for cue in reel.cues))


def rename_node(reel: Reel, catalogue: Catalogue, name: str, new: str) -> Reel:
    """Return `reel` with a node of its chain called `new`, in its cues as well.

    Raises BadInput for a name that is taken, has a dot, or is none.
    """
    chain = with_name(reel.chain, catalogue, name, new)

    def renamed(cue: Cue) -> Cue:
        keys = {k: f"{new}{k[len(name) :]}" if _node(k) == name else k for k in cue.settings}
        return msgspec.structs.replace(cue, settings={keys[k]: v for k, v in cue.settings.items()})

    return msgspec.structs.replace(reel, chain=chain, cues=tuple(renamed(cue) for cue in reel.cues))


def _node(key: str) -> str:
    """Return the node that a parameter or switch belongs to, by its full name."""
    return key.partition(".")[0]


def _with_cues(reel: Reel, cues: list[Cue], controls: Controls) -> Reel:
    return msgspec.structs.replace(reel, cues=CueList(tuple(cues), controls).cues)
