"""What is measured of the film itself, once for a reel: part of every start, and before all else in it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Protocol

from lamphouse.graph.edits.cues import set_cue
from lamphouse.graph.reel_files.opened import OpenedReel


class Film(Protocol):
    """Something measured of the film."""

    @property
    def sure(self) -> float:
        """How sure it is, 0..1."""

    @property
    def settings(self) -> Mapping[str, Any]:
        """What is to be set."""

    @property
    def words(self) -> str:
        """What was measured, as the beginning of a sentence."""


def with_film(opened: OpenedReel, film: Film) -> OpenedReel:
    """Return the reel with what was measured in every cue, or in a first one where there is none."""
    controls = opened.controls()
    reel = opened.reel
    for frame in sorted({0, *(cue.frame for cue in reel.cues)}):
        reel = set_cue(reel, frame, controls, film.settings)
    return opened.with_reel(reel)
