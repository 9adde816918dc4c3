"""Reels of chance, measured once for all who look at them: drawing and measuring one takes seconds.

A test that asks for one is `slow`; the fewer numbers all of them ask for, the less is drawn.
"""

from __future__ import annotations

import os
import pickle
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path

import numpy as np
import pytest
from filelock import FileLock

from lamphouse.graph.demo.seeds.records import Truth
from lamphouse.graph.demo.seeds.seeded import seeded
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.statistics.measuring import Measuring, Segment
from lamphouse.graph.media.statistics.statistics import Statistics, joined
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Reel, ScanRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.survey.changes.evidence import changes, evidence
from lamphouse.graph.survey.look import Look, shots_of
from lamphouse.nodes.catalogue import Catalogue

WIDTH, HEIGHT = 160, 120


@pytest.fixture(scope="session")
def kept_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder that all workers of this run of the tests share."""
    base = tmp_path_factory.getbasetemp()
    folder = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "seeded"
    folder.mkdir(exist_ok=True)
    return folder


@pytest.fixture(scope="session")
def seeded_statistics(kept_folder: Path) -> Callable[[int], tuple[Statistics, Truth]]:
    """A function from the number of a reel of chance to its statistics, 160 wide, and the truth about it."""

    def look_up(number: int) -> tuple[Statistics, Truth]:
        path = kept_folder / str(number)
        with FileLock(path.with_suffix(".lock")):
            if not path.exists():
                path.write_bytes(pickle.dumps(_measured(number)))
            segments, truth = pickle.loads(path.read_bytes())
        return joined([Segment(*segment) for segment in segments]), truth

    return look_up


def _measured(number: int) -> tuple[list[tuple[np.ndarray, np.ndarray]], Truth]:
    reel = seeded(number, WIDTH)
    segments: dict[int, tuple[np.ndarray, np.ndarray]] = {}
    measuring = Measuring(reel.truth.frames, lambda at, segment: segments.update({at: tuple(segment)}))
    for frame, codes in enumerate(reel.frames()):
        measuring.feed(frame, codes.astype(np.float32) / 1023)
    return [segments[at] for at in sorted(segments)], reel.truth


@pytest.fixture(scope="session")
def look_of() -> Iterator[Callable[..., Look]]:
    """A function from statistics to what the parts of a survey look at: a reel of a plain chain, no cues."""
    with ExitStack() as stack:

        def look(statistics: Statistics, margin: float = 1.0) -> Look:
            scan = ScanRef(path="scan", frames=statistics.frames, width=WIDTH, height=HEIGHT)
            opened = OpenedReel(
                Path("a.reel"), Reel(scan=scan, chain=chain_preset("plain").chain), Catalogue()
            )
            found = changes(evidence(statistics), margin)
            grade = stack.enter_context(Grade(opened, threads=1))
            return Look(opened, statistics, found, shots_of(opened.reel, found), grade, margin)

        yield look


@pytest.fixture(scope="session")
def seeded_look(
    seeded_statistics: Callable[[int], tuple[Statistics, Truth]], look_of: Callable[..., Look]
) -> Callable[[int], tuple[Look, Truth]]:
    """A function from the number of a reel of chance to a look at it, 160 wide, and the truth about it."""

    def look(number: int) -> tuple[Look, Truth]:
        statistics, truth = seeded_statistics(number)
        return look_of(statistics), truth

    return look
