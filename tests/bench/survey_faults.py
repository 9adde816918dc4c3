"""What the survey finds of what grading cannot mend: python tests/bench/survey_faults.py [FIRST STOP WIDTH]

Without numbers: reels of chance 1 to 10, 640 wide, some minutes each. A soft or a clipped shot counts
where a mark covers half of it, a slip within a frame, a scratch where it is seen within the time of one; a
speck of dirt where one is placed within two per cent of the picture of it, in the same frame.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from lamphouse.graph.demo.seeds.records import Truth
from lamphouse.graph.demo.seeds.seeded import SeededRoll, seeded
from lamphouse.graph.media.statistics.statistics import Statistics, measured
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Reel, ScanRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.survey.faults import dirt
from lamphouse.graph.survey.proposal import Proposal
from lamphouse.graph.survey.survey import survey
from lamphouse.nodes.catalogue import Catalogue

Fault = tuple[str, int, int]  # what it is, its first frame, and where it ends
ENDS = ("clipped lights", "clipped shadows")
DIRTY = 3.0  # specks a frame of a shot that is to be found dirty
NEAR = 0.02  # of the picture, within which a speck is the same


def main() -> None:
    """Print of each kind how many there are on each reel, missed and false."""
    first, stop, width = map(int, sys.argv[1:4]) if len(sys.argv) > 3 else (1, 11, 640)
    known, missed, false = Counter[str](), Counter[str](), Counter[str]()
    specks: list[NDArray[np.intp]] = []
    for number in range(first, stop):
        reel = seeded(number, width)
        statistics = statistics_of(reel)
        found = [(each.what, each.frame, each.frame + each.frames) for each in surveyed(reel, statistics)]
        specks.append(speck_counts(reel.truth, statistics))
        true = list(faults_of(reel.truth))
        lost = [each for each in true if not any(is_same(each, one) for one in found)]
        wrong = [each for each in found if not any(is_same(one, each) for one in true)]
        known.update(each[0] for each in true)
        missed.update(each[0] for each in lost)
        false.update(each[0] for each in wrong)
        print(f"{number:>3}  missed {lost}  false {wrong}", flush=True)
    for what in sorted(known | false):
        print(f"{what:<16} {known[what]:>4} there, {missed[what]} missed, {false[what]} false")
    there, hit, placed, right = np.sum(specks, axis=0)
    print(
        f"specks of dirt: {there} there, {hit / there:.2f} found; {placed} found, {right / placed:.2f} right"
    )


def statistics_of(reel: SeededRoll) -> Statistics:
    """Measure a reel."""
    return measured((codes / np.float32(1023) for codes in reel.frames()), reel.roll.frames)


def surveyed(reel: SeededRoll, statistics: Statistics) -> tuple[Proposal, ...]:
    """Return the faults proposed for a reel."""
    raster = reel.pictures.raster
    scan = ScanRef(path="scan", frames=reel.roll.frames, width=raster.width, height=raster.height)
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
    for splice in truth.splices:
        yield "bad splice", splice.first, splice.stop
    for scratch in truth.scratches:
        yield "scratch", scratch.first, scratch.stop
    for hair in truth.hairs:
        yield "hair in the gate", hair.first, hair.stop
    for shot in truth.shots:
        if shot.dust >= DIRTY and not shot.is_leader:
            yield "dirt", shot.first, shot.stop


def is_same(true: Fault, found: Fault) -> bool:
    """Say whether what was found is what is there."""
    shared = min(true[2], found[2]) - max(true[1], found[1])
    if true[0] != found[0]:
        return False
    if true[2] - true[1] == 1:
        return abs(true[1] - found[1]) <= 1
    return shared > 0 if true[0] == "scratch" else shared >= (true[2] - true[1]) / 2


def speck_counts(truth: Truth, statistics: Statistics) -> NDArray[np.intp]:
    """Return of the pictures' specks how many there are and were found, were placed and are there."""
    is_dirt, places = dirt.specks(statistics.rows), statistics.rows["speck_places"].astype(np.float64)
    found = [(frame, *middle(places[frame, at])) for frame, at in np.argwhere(is_dirt)]
    there = [(speck.frame, *middle(speck.place)) for speck in truth.dust]
    pictures = {at for shot in truth.shots if not shot.is_leader for at in range(shot.first, shot.stop)}
    found, there = ([each for each in some if each[0] in pictures] for some in (found, there))
    return np.array([len(there), are_near(there, found), len(found), are_near(found, there)])


def middle(place: Sequence[float]) -> tuple[float, float]:
    """Return the middle of a place: left, top, width, height."""
    left, top, wide, high = place[:4]
    return left + wide / 2, top + high / 2


def are_near(some: list[tuple[int, float, float]], others: list[tuple[int, float, float]]) -> int:
    """Return how many of some specks have one of the others near them in their frame."""
    if not some or not others:
        return 0
    scale = np.array((0.5, NEAR, NEAR))  # another frame is too far
    apart, _ = cKDTree(np.array(others) / scale).query(np.array(some) / scale, p=np.inf)
    return int(np.count_nonzero(apart < 1))


if __name__ == "__main__":
    main()
