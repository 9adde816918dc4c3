"""An invented reel without its scan: its shots, and what other readers make of the lists of them."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from lamphouse.graph.handover.lists.leave import whole_reel
from lamphouse.graph.handover.lists.shots import Shot, shots_of
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Cue, Reel, ScanRef
from lamphouse.graph.reel.span import Span
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.catalogue import Catalogue

CATALOGUE = Catalogue()


@pytest.fixture
def opened(tmp_path: Path) -> Callable[..., OpenedReel]:
    """A function from cues and other fields of a reel to that reel, opened; its file is not there."""

    def make(*cues: Cue, frames: int = 5000, chain: str = "plain", **fields: Any) -> OpenedReel:
        scan = ScanRef(path="film/my first reel.mkv", frames=frames, width=64, height=48)
        fields = {"rate": "25", "chain": chain_preset(chain).chain, **fields}
        return OpenedReel(tmp_path / "a.reel", Reel(scan=scan, cues=cues, **fields), CATALOGUE)

    return make


@pytest.fixture
def shots() -> Callable[..., tuple[Span, tuple[Shot, ...]]]:
    """A function from an opened reel to the span of its whole master, or of another, and the shots of it."""

    def make(opened: OpenedReel, span: Span | None = None) -> tuple[Span, tuple[Shot, ...]]:
        span = span or whole_reel(opened)
        return span, shots_of(opened, span)

    return make
