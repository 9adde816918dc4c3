"""What the survey finds of what grading cannot mend: python tests/bench/survey_faults.py [FIRST STOP WIDTH]

Without numbers: reels of chance 1 to 10, 640 wide, some minutes each. A soft or a clipped shot counts
where a mark covers half of it, a slip or a splice within a frame, a scratch where it is seen within the time
of one; a speck of dirt where one is placed within two per cent of the picture of it, in the same frame.

Where there is little of a fault, a mark on it is as right as none is. A shot has to be found clipped from 5 %
of the picture at the end of the codes in a channel, in the middle of its frames, and below 1 % has nothing
cut off; it has to be found dirty where 3 specks a frame are meant for it, and a mark that calls frames dirty
is right where 2 lie on them (invented bounds; the survey's own are 3 % and 3 specks).
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
DUSTY = 2.0  # from which a mark that says so is right
CUT_OFF = 0.05  # share of the picture at an end of the codes, from which a shot is to be found clipped
WHOLE = 0.01  # below which nothing of it is cut off
RIM = 16  # part of the picture that is left out on every side: the gate is dark there
TOP = 1023
NEAR = 0.02  # of the picture, within which a speck is the same


def main() -> None:
    """Print of each kind how many there are on each reel, missed and false."""
    first, stop, width = map(int, sys.argv[1:4]) if len(sys.argv) > 3 else (1, 11, 640)
    known, missed, false = Counter[str](), Counter[str](), Counter[str]()
    specks: list[NDArray[np.intp]] = []
    for number in range(first, stop):
        reel = seeded(number, width)
        statistics, at_ends = statistics_of(reel)
        found = [(each.what, each.frame, each.frame + each.frames) for each in surveyed(reel, statistics)]
        specks.append(speck_counts(reel.truth, statistics))
        true, free = faults_of(reel.truth, at_ends), list(clipped_of(reel.truth, at_ends, WHOLE, CUT_OFF))
        lost = [each for each in true if not any(is_same(each, one) for one in found)]
        wrong = [each for each in found if not any(is_same(one, each) for one in true + free)]
        wrong = [each for each in wrong if each[0] != "dirt" or dust_of(reel.truth, *each[1:]) < DUSTY]
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


def statistics_of(reel: SeededRoll) -> tuple[Statistics, NDArray[np.float64]]:
    """Measure a reel; and count what share of each frame lies at the highest and the lowest codes."""
    at_ends = np.zeros((reel.roll.frames, 2))

    def counted() -> Iterator[NDArray[np.float32]]:
        for number, codes in enumerate(reel.frames()):
            at_ends[number] = shares_at_ends(codes)
            yield codes / np.float32(TOP)

    return measured(counted(), reel.roll.frames), at_ends


def shares_at_ends(codes: NDArray[np.uint16]) -> tuple[float, float]:
    """Return what share of a frame lies at the highest code, and at the lowest, in the channel with most."""
    high, wide = (max(1, side // RIM) for side in codes.shape[1:])
    inner = codes[:, high:-high, wide:-wide]
    return tuple(float((inner == end).mean(axis=(1, 2)).max()) for end in (TOP, 0))


def surveyed(reel: SeededRoll, statistics: Statistics) -> tuple[Proposal, ...]:
    """Return the faults proposed for a reel."""
    raster = reel.pictures.raster
    scan = ScanRef(path="scan", frames=reel.roll.frames, width=raster.width, height=raster.height)
    opened = OpenedReel(Path("a.reel"), Reel(scan=scan, chain=chain_preset("plain").chain), Catalogue())
    return survey(opened, statistics, only=("faults",)).proposals


def clipped_of(truth: Truth, at_ends: NDArray[np.float64], least: float, most: float) -> Iterator[Fault]:
    """Yield the clipped shots of which a share from `least` to below `most` is cut off."""
    for clipped in truth.clipped:
        end = int((clipped.amount or 0) < 0)
        if least <= np.median(at_ends[clipped.first : clipped.stop, end]) < most:
            yield ENDS[end], clipped.first, clipped.stop


def dust_of(truth: Truth, first: int, stop: int) -> float:
    """Return how many specks a frame lie on some frames."""
    return sum(first <= speck.frame < stop for speck in truth.dust) / (stop - first)


def faults_of(truth: Truth, at_ends: NDArray[np.float64]) -> list[Fault]:
    """Return what a survey ought to find of a reel of chance."""
    return [*clipped_of(truth, at_ends, CUT_OFF, np.inf), *others_of(truth)]


def others_of(truth: Truth) -> Iterator[Fault]:
    """Yield what it ought to find, but for clipped shots."""
    for soft in truth.soft:
        yield "soft shot", soft.first, soft.stop
    for frame in truth.missing:
        yield "missing frames", frame, frame + 1
    for frame in truth.doubled:
        yield "doubled frame", frame, frame + 1
    for splice in truth.splices:
        yield "bad splice", splice.first, splice.stop
    for flash in truth.flashes:
        if flash.what == "splice flash":
            yield "splice flash", flash.first, flash.stop
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
