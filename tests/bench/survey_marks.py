"""Marks that the survey finds on reels of chance: python tests/bench/survey_marks.py [FIRST STOP WIDTH]

Without numbers: reels 1 to 10, 160 wide. A mark counts where it is within a frame of the truth at either end,
and of the same name; the sound is the reel's own.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from lamphouse.graph.demo.seeds.make import mix
from lamphouse.graph.demo.seeds.records import Truth
from lamphouse.graph.demo.seeds.seeded import SeededRoll, seeded
from lamphouse.graph.demo.sound import write_sound
from lamphouse.graph.demo.story import RATE
from lamphouse.graph.media.statistics.statistics import measured
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Reel, ScanRef, SoundRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.survey.proposal import Proposal
from lamphouse.graph.survey.survey import survey
from lamphouse.nodes.catalogue import Catalogue

Marks = list[tuple[str, int, int]]


def main() -> None:
    """Print what is found of each reel, what is missed and what is false."""
    first, stop, width = map(int, sys.argv[1:4]) if len(sys.argv) > 3 else (1, 11, 160)
    missed = false = known = 0
    for number in range(first, stop):
        reel = seeded(number, width)
        found, spent = surveyed(reel)
        marks, true = [(each.what, each.frame, each.frames) for each in found], marks_of(reel.truth)
        lost = [mark for mark in true if not any(is_same(mark, one) for one in marks)]
        wrong = [mark for mark in marks if not any(is_same(mark, one) for one in true)]
        known, missed, false = known + len(true), missed + len(lost), false + len(wrong)
        print(f"{number:>3}  {len(true)} marks, {spent:.2f} s  missed {lost}  false {wrong}", flush=True)
    print(f"{known} marks: {missed} missed, {false} false")


def surveyed(reel: SeededRoll) -> tuple[list[Proposal], float]:
    """Return the marks proposed for a reel with its sound, and the seconds of CPU that they took."""
    raster, frames = reel.pictures.raster, reel.roll.frames
    statistics = measured((codes.astype(np.float32) / 1023 for codes in reel.frames()), frames)
    with tempfile.TemporaryDirectory() as folder:
        write_sound(Path(folder) / "sound.wav", mix(reel.roll))
        scan = ScanRef(path="scan", frames=frames, width=raster.width, height=raster.height)
        document = Reel(
            scan=scan, chain=chain_preset("plain").chain, sound=SoundRef(path="sound.wav"), rate=str(RATE)
        )
        opened = OpenedReel(Path(folder) / "a.reel", document, Catalogue())
        start = time.process_time()
        found = survey(opened, statistics, only=("marks",), changes=())
        return list(found.proposals), time.process_time() - start


def marks_of(truth: Truth) -> Marks:
    """Return what a survey ought to find of a reel of chance."""
    first, stop, frames = truth.first_picture, truth.last_picture + 1, truth.frames
    return [
        ("head leader", 0, first),
        ("head mark", truth.head_mark, truth.mark_frames),
        ("sync pip", truth.sync, 1),
        ("start of picture", first, 1),
        ("end of picture", stop - 1, 1),
        ("tail leader", stop, frames - stop),
        ("punched hole", truth.tail_mark, truth.mark_frames),
    ]


def is_same(mark: tuple[str, int, int], other: tuple[str, int, int]) -> bool:
    """Say whether two marks are one, a frame apart at most at either end."""
    ends = mark[1] - other[1], mark[1] + mark[2] - other[1] - other[2]
    return mark[0] == other[0] and max(map(abs, ends)) <= 1


if __name__ == "__main__":
    main()
