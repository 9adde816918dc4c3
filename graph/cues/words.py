"""A cue in words, as the terminal and the report show it."""

from __future__ import annotations

from typing import Any

from lamphouse.graph.reel import Cue


def arrival_text(cue: Cue) -> str:
    """Return how a cue arrives: `cut`, or `transition over 60 frames, soft`."""
    if cue.arrive == "cut":
        return "cut"
    ease = cue.ease if isinstance(cue.ease, str) else "drawn"
    return f"transition over {cue.over} frames, {ease}"


def settings_text(cue: Cue) -> str:
    """Return a cue's settings as a person would type them."""
    return " ".join(f"{key}={value_text(value)}" for key, value in cue.settings.items())


def value_text(value: Any) -> str:
    """Return one value as a person would type it: `1.2`, `1.1,1,0.9`, `0,0 0.5,0.6 1,1`."""
    if isinstance(value, list | tuple):
        between = " " if value and isinstance(value[0], list | tuple) else ","
        return between.join(value_text(v) for v in value)
    return f"{value:g}" if isinstance(value, int | float) else str(value)
