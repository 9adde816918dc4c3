"""A cue in words, as the terminal and the report show it."""

from __future__ import annotations

from lamphouse.graph.reel.records import Cue
from lamphouse.nodes.one_line import one_line
from lamphouse.nodes.values import value_text


def beginning_text(cue: Cue) -> str:
    """Return how a cue begins: `cut`, or `transition of 60 frames, soft`."""
    if cue.begins == "cut":
        return "cut"
    ease = one_line(cue.ease) if isinstance(cue.ease, str) else "drawn"
    return f"transition of {cue.length} frames, {ease}"


def settings_text(cue: Cue) -> str:
    """Return a cue's settings as a person would type them."""
    return one_line(" ".join(f"{key}={value_text(value)}" for key, value in cue.settings.items()))
