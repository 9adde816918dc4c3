"""What a person has set: it stands, it is proposed for shots of the same set-up, and never proposed over."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from lamphouse.graph.edits.cues import cue_at, cue_holding, node_of
from lamphouse.graph.reel.presets import preset_names, stock_preset
from lamphouse.graph.reel.records import Reel

FILM: Final = ("film_base", "dye_fade")  # what says what the film is, and nothing of how a shot should look


class Hand:
    """What a person has set in the cues of a reel."""

    def __init__(self, reel: Reel) -> None:
        self._reel = reel
        self._film = {ref.name for ref in reel.chain.nodes if ref.kind in FILM}
        self._stocks = [self._of_shot(stock_preset(name).settings) for name in preset_names("stocks")]

    def at(self, frame: int) -> Mapping[str, Any] | None:
        """Return what the cue at `frame` sets, where a person made that; None where there is none such.

        What it has from the cue before, or from a stock, or says of the film, nobody has set there.
        """
        cue, before = cue_at(self._reel, frame), cue_holding(self._reel, frame - 1)
        if cue is None:
            return None
        own, held = self._of_shot(cue.settings), self._of_shot(before.settings if before else {})
        return None if not own or own == held or own in self._stocks else cue.settings

    def _of_shot(self, settings: Mapping[str, Any]) -> dict[str, Any]:
        return {key: value for key, value in settings.items() if node_of(key) not in self._film}
