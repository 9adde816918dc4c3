"""What the survey finds of what grading cannot mend: python tests/bench/survey_faults.py [FIRST STOP WIDTH]

Without numbers: reels of chance 1 to 10, 640 wide, some minutes each. A soft or a clipped shot counts
where a mark covers half of it, a slip within a frame, a scratch where it is seen within the time of one.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from lamphouse.graph.demo.seeds.records import Truth
from lamphouse.graph.demo.seeds.seeded import SeededRoll, seeded
from lamphouse.graph.media.statistics.statistics import measured
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Reel, ScanRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.survey.proposal import Proposal
from lamphouse.graph.survey.survey import survey
from lamphouse.nodes.catalogue import Catalogue

Fault = tuple[str, int, int]  # what it is, its first frame, and where it ends
ENDS = ("clipped lights", "clipped shadows")


def main() -> None:
    """Print of each kind how many there are on each reel, missed and false."""
    first, stop, width = map(int, sys.argv[1:4]) if len(sys.argv) > 3 else (1, 11, 640)
    known, missed, false = Counter[str](), Counter[str](), Counter[str]()
    for number in range(first, stop):
        reel = seeded(number, width)
        found = [(each.what, each.frame, each.frame + each.frames) for each in surveyed(reel)]
        true = list(faults_of(reel.truth))
        lost = [each for each in true if not any(is_same(each, one) for one in found)]
        wrong = [each for each in found if not any(is_same(one, each) for one in true)]
        known.update(each[0] for each in true)
        missed.update(each[0] for each in lost)
        false.update(each[0] for each in wrong)
        print(f"{number:>3}  missed {lost}  false {wrong}", flush=True)
    for what in sorted(known | false):
        print(f"{what:<16} {known[what]:>4} there, {missed[what]} missed, {false[what]} false")


def surveyed(reel: SeededRoll) -> tuple[Proposal, ...]:
    """Return the faults proposed for a reel."""
    raster, frames = reel.pictures.raster, reel.roll.frames
    statistics = measured((codes.astype(np.float32) / 1023 for codes in reel.frames()), frames)
    scan = ScanRef(path="scan", frames=frames, width=raster.width, height=raster.height)
    opened = OpenedReel(Path("a.reel"), Reel(scan=scan, chain=chain_preset("plain").chain), Catalogue())
    return survey(opened, statistics, only=("faults",)).proposals


def faults_of(truth: Truth) -> Iterator[Fault]:
    """Yield what a survey ought to find of a reel of chance."""
    for soft in truth.soft:
        yield "soft shot", soft.first, soft.stop
    for clipped in truth.clipped:
        yield ENDS[(clipped.amount or 0) < 0], clipped.first, clipped.stop
    for frame in truth.missing:
        yield "missing frames", frame, frame + 1
    for frame in truth.doubled:
        yield "doubled frame", frame, frame + 1
    for scratch in truth.scratches:
        yield "scratch", scratch.first, scratch.stop


def is_same(true: Fault, found: Fault) -> bool:
    """Say whether what was found is what is there."""
    shared = min(true[2], found[2]) - max(true[1], found[1])
    if true[0] != found[0]:
        return False
    if true[2] - true[1] == 1:
        return abs(true[1] - found[1]) <= 1
    return shared > 0 if true[0] == "scratch" else shared >= (true[2] - true[1]) / 2


if __name__ == "__main__":
    main()
