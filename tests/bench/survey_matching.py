"""Shots matched and scenes evened, on photographs with known settings between them: what is left of before.

Each pair is two parts of a photograph of scikit-image, or its two views of one scene (`motorcycle`,
Scharstein and others, 2014), one of them under settings drawn by chance. `distance` is the survey's own
between the two; `meant` is the mean CIEDE2000, pixel by pixel, between the shot matched and the shot as it
was before it was spoilt, which the matching has never seen. A scene is ten such parts, each under settings
of its own; other scenes go to and fro between two photographs. What is drawn by chance is other pairs and
scenes with other `--dice`.

    python tests/bench/survey_matching.py [--pairs 100] [--scenes 10] [--dice 100]
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from itertools import combinations, pairwise
from pathlib import Path
from typing import Any, Final

import numpy as np
import skimage.data
import skimage.io
from numpy.typing import NDArray

from lamphouse.graph.chain.installed import installed
from lamphouse.graph.grade.probe import Probe, Sample
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Reel, ScanRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.survey.matching.distance import distance
from lamphouse.graph.survey.matching.knobs import knobs_of
from lamphouse.graph.survey.matching.match import Graded, Shown, evened, lab_of, matched
from lamphouse.nodes.colorimetry import colour_science

Picture = NDArray[Any]  # (3, rows, columns) of video signal
CELLS: Final = (30, 40)
SIZE: Final = 0.6  # of a photograph that a shot shows
APART: Final = 0.08  # of it between two shots
PHOTOGRAPHS: Final = ("astronaut", "chelsea", "coffee", "rocket")


class Bench:
    """A plain chain, and dice."""

    def __init__(self, dice: int) -> None:
        scan = ScanRef(path="scan", frames=100, width=96, height=72)
        reel = Reel(scan=scan, chain=chain_preset("plain").chain)
        self._opened = OpenedReel(Path("a.reel"), reel, installed())
        self._controls = self._opened.controls()
        self.dice = np.random.default_rng(dice)

    def graded(self, scan: Picture) -> Graded:
        """Return a shot by its cells, under neutral settings."""
        neutral = self._controls.neutral
        knobs = knobs_of(self._opened, self._controls, neutral)
        return Graded(Probe(self._opened.program(), neutral), [Sample(scan)], knobs)

    def under(self, settings: Any, scan: Picture) -> Picture:
        """Return it as the chain shows it under `settings`."""
        probe = Probe(self._opened.program(), self._controls.neutral)
        return np.clip(probe.changed(Sample(scan), settings), 0, 1)

    def spoilt(self, picture: Picture) -> Picture:
        """Return what a scan of ten bits holds where settings drawn by chance would make `picture` of it."""
        dice = self.dice
        lift = dice.uniform(-0.03, 0.03) + dice.uniform(-0.02, 0.02, 3)
        gamma = np.exp(dice.uniform(-0.2, 0.2) + dice.uniform(-0.08, 0.08, 3))
        gain = np.exp(dice.uniform(-0.3, 0.3) + dice.uniform(-0.12, 0.12, 3))
        lift, gamma, gain = (np.reshape(n, (3, 1, 1)) for n in (lift, gamma, gain))
        return np.rint(((picture**gamma / gain - lift) / (1 - lift)).clip(0, 1) * 1023) / 1023

    def pairs(self, count: int) -> Iterator[tuple[str, Picture, Picture, Picture]]:
        """Yield the name of each, the shot as it was meant and as it was scanned, and the other shot."""
        names = (*PHOTOGRAPHS, "motorcycle")
        for number in range(count):
            name = names[number % len(names)]
            mine, other = (photograph(name, view) for view in ("left", "right"))
            place = self.dice.uniform(0.1, 0.3, 2)
            meant = cells(mine, *place)
            yield (
                name,
                meant,
                self.spoilt(meant),
                cells(other, *(place + self.dice.uniform(-APART, APART, 2))),
            )

    def scene(self, name: str, count: int = 10) -> tuple[list[Picture], list[Picture]]:
        """Return shots of one place as they were meant, and each as scanned under settings of its own."""
        found, meant, scans = photograph(name), [], []
        for _ in range(count):
            meant.append(cells(found, *self.dice.uniform(0.17, 0.24, 2))[:, ::2, ::2])
            scans.append(self.spoilt(meant[-1]))
        return meant, scans


def photograph(name: str, view: str = "left") -> Picture:
    """Return a photograph, (height, width, 3), 0 to 1; `view` is which of two, where there are two."""
    if name == "motorcycle":
        path = Path(skimage.data.__file__).parent / f"motorcycle_{view}.png"
        return np.asarray(skimage.io.imread(path)[..., :3] / 255)
    return np.asarray(getattr(skimage.data, name)()[..., :3] / 255)


def cells(picture: Picture, left: float, top: float) -> Picture:
    """Return the means of the cells of a part of a photograph, (3, rows, columns)."""
    rows = (np.linspace(top, top + SIZE, 4 * CELLS[0]) * (picture.shape[0] - 1)).astype(int)
    columns = (np.linspace(left, left + SIZE, 4 * CELLS[1]) * (picture.shape[1] - 1)).astype(int)
    fine = picture[rows[:, None], columns].reshape(CELLS[0], 4, CELLS[1], 4, 3)
    return np.moveaxis(fine.mean(axis=(1, 3)), -1, 0)


def off(video: Picture, meant: Picture) -> float:
    """Return the mean CIEDE2000 between two pictures, pixel by pixel."""
    labs = [lab_of(np.reshape(p, (3, -1))) for p in (video, meant)]
    return float(np.mean(colour_science().delta_E(*labs, method="CIE 2000")))


def matching(bench: Bench, count: int) -> None:
    """Print what is left of the distance of so many pairs."""
    left: dict[str, list[tuple[float, float]]] = {}
    for name, meant, scan, other in bench.pairs(count):
        found = matched(bench.graded(scan), Shown(lab_of(other.reshape(3, -1))))
        share = off(bench.under(found.settings, scan), meant) / off(scan, meant)
        left.setdefault(name, []).append((found.after / found.before, share))
    rows = {**left, "all": [row for rows in left.values() for row in rows]}
    print("left of before                distance: median  90 %  worst      meant: median  90 %  worst")
    for name, found_ in rows.items():
        numbers = [f(column) for column in np.array(found_).T for f in (np.median, _most, np.max)]
        print(
            f"{len(found_):>5} pairs of {name:<24}" + "{:6.3f} {:6.3f} {:6.3f}      ".format(*numbers[:3]),
            end="",
        )
        print("{:12.3f} {:6.3f} {:6.3f}".format(*numbers[3:]))


def _most(values: NDArray[Any]) -> float:
    return float(np.quantile(values, 0.9))


def evening(bench: Bench, count: int) -> None:
    """Print what is left of the largest step between the neighbours of scenes of ten, and of what was wrong.

    By what both of two shots show, which alone can be evened; by all that they show; and what would be left
    by that measure if every shot were as it was meant, for no two show the same. What was wrong is how far
    the mean colours of the shots are, beside one another, from what was meant.
    """
    found = []
    for number in range(count):
        meant, scans = bench.scene(PHOTOGRAPHS[number % len(PHOTOGRAPHS)])
        even = evened([bench.graded(scan) for scan in scans])
        made = [bench.under(each, scan) for each, scan in zip(even.settings, scans, strict=True)]
        common = max(even.after) / max(even.before)
        steps = (largest(shots) / largest(scans) for shots in (made, meant))
        found.append((common, *steps, uneven(made, meant) / uneven(scans, meant)))
    print(f"{count} scenes of ten: left of before              median  worst")
    rows = ("largest step, by what both show", "by all that they show", "by all, as meant", "what was wrong")
    for words, shares in zip(rows, np.array(found).T, strict=True):
        print(f"    {words:<40} {np.median(shares):6.3f} {max(shares):6.3f}")


def to_and_fro(bench: Bench) -> None:
    """Print what is left of what was wrong in scenes of eight that go to and fro between two places."""
    left = []
    for names in combinations(PHOTOGRAPHS, 2):
        sides = [bench.scene(name, 4) for name in names]
        meant, scans = (
            [shot for both in zip(*shots, strict=True) for shot in both] for shots in zip(*sides, strict=True)
        )
        even = evened([bench.graded(scan) for scan in scans])
        made = [bench.under(each, scan) for each, scan in zip(even.settings, scans, strict=True)]
        left += [uneven(made[at::2], meant[at::2]) / uneven(scans[at::2], meant[at::2]) for at in (0, 1)]
    print(f"{len(left)} views, two a scene: what was wrong     {np.median(left):6.3f} {max(left):6.3f}")


def largest(pictures: list[Picture]) -> float:
    """Return the largest step between neighbours, by all that they show."""
    labs = [lab_of(picture.reshape(3, -1)) for picture in pictures]
    return max(distance(a, b) for a, b in pairwise(labs))


def uneven(pictures: list[Picture], meant: list[Picture]) -> float:
    """Return how far mean colours are from those meant, in CIELAB, but for what all shots share."""
    mine, theirs = (
        np.array([lab_of(p.reshape(3, -1)).mean(axis=0) for p in shots]) for shots in (pictures, meant)
    )
    apart = mine - theirs
    return float(np.sqrt(np.mean(np.sum((apart - apart.mean(axis=0)) ** 2, axis=1))))


def main() -> None:
    """Print all three."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--pairs", type=int, default=100)
    parser.add_argument("--scenes", type=int, default=10)
    parser.add_argument("--dice", type=int, default=100, help="what the pairs and scenes are drawn by")
    asked = parser.parse_args()
    bench = Bench(asked.dice)
    if asked.pairs:
        matching(bench, asked.pairs)
    evening(bench, asked.scenes)
    to_and_fro(bench)


if __name__ == "__main__":
    main()
