"""A transition parted at one of its frames, so that every frame of it looks as before."""

from __future__ import annotations

import msgspec

from lamphouse.graph.cues.easing import parted
from lamphouse.graph.cues.settings import OFF, Controls, CueList
from lamphouse.graph.reel.records import Cue, Reel
from lamphouse.nodes.values import Value


def parted_at(reel: Reel, frame: int, controls: Controls) -> tuple[Cue, Cue] | None:
    """Return a cue for what a transition passes through at `frame`, and the cue that its rest ends on.

    The new one begins with the part of the transition up to it and sets what is set there on the way; both
    parts go as the whole did. None where no transition is under way.
    """
    cues = CueList(reel.cues, controls)
    index = cues.arriving(frame)
    if index is None:
        return None
    after = cues.cues[index]
    left = after.frame - frame
    done = after.length - left
    before, rest = parted(after.ease, done, after.length)
    settings = _on_the_way(cues, frame, index, controls)
    new = Cue(frame=frame, begins="transition", length=done, ease=before, settings=settings)
    return new, msgspec.structs.replace(after, length=left, ease=rest)


def _on_the_way(cues: CueList, frame: int, index: int, controls: Controls) -> dict[str, Value]:
    """Return the settings of a cue that makes the picture of `frame`: what is on at either end is on."""
    start = cues.cues[index - 1].settings if index else {}
    end = cues.cues[index].settings
    settings = {k: v for k, v in start.items() if v != OFF or k not in controls.switches or end.get(k) == OFF}
    has = controls.effective(controls.check(settings, ""))
    passing = {key: value for key, value in cues.at(frame).items() if value != has[key]}
    return {**settings, **passing}
