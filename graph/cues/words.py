"""A cue in words, as the terminal, the desk and the report show it. Cues are numbered in order, from 1."""

from __future__ import annotations

from lamphouse.graph.cues.settings import OFF, SWITCH
from lamphouse.graph.reel.records import Cue
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


def _last(key: str) -> str:
    return key.rpartition(".")[2].replace("_", " ")
