"""Cues and tracks in words, as the terminal, the desk and the report show them. Cues are numbered from 1."""

from __future__ import annotations

from lamphouse.graph.cues.settings import OFF, SWITCH
from lamphouse.graph.reel.records import Cue, Track
from lamphouse.nodes.one_line import one_line
from lamphouse.nodes.values import value_text


def cue_text(number: int, cue: Cue) -> str:
    """Return what a cue is called: `7 shade`, or where it has no name, `cue 7`."""
    return f"{number} {one_line(cue.name)}" if cue.name else f"cue {number}"


def beginning_text(cue: Cue) -> str:
    """Return how a cue begins: `cut`, or `transition of 60 frames, soft`."""
    if cue.begins == "cut":
        return "cut"
    ease = one_line(cue.ease) if isinstance(cue.ease, str) else "drawn"
    return f"transition of {cue.length} frames, {ease}"


def settings_text(cue: Cue) -> str:
    """Return a cue's settings as a person would type them."""
    return one_line(" ".join(f"{key}={value_text(value)}" for key, value in cue.settings.items()))


def set_text(cue: Cue) -> str:
    """Return in few words what a cue sets: `gain, saturation, secondary off`, or nothing."""
    off = {key.removesuffix(f".{SWITCH}") for key, value in cue.settings.items() if value == OFF}
    names = (key for key in cue.settings if not key.endswith(f".{SWITCH}"))
    on = [key for key in names if not {key, key.partition(".")[0]} & off]
    words = [_last(key) for key in on]
    return one_line(", ".join(dict.fromkeys([*words, *(f"{_last(key)} off" for key in sorted(off))])))


def track_text(track: Track) -> str:
    """Return what a track is: `300 frames, 120 keys from -0.2 to 0.31`, and whether it is off."""
    amounts = [amount for _, amount in track.keys]
    keys = "1 key" if len(amounts) == 1 else f"{len(amounts)} keys"
    extent = f"from {min(amounts):.3g} to {max(amounts):.3g}"
    frames = "1 frame" if track.frames == 1 else f"{track.frames} frames"
    return f"{frames}, {keys} {extent}{'' if track.is_on else ', off'}"


def _last(key: str) -> str:
    return key.rpartition(".")[2].replace("_", " ")
