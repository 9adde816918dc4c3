"""Writes a reel of chance as a person meets one: a scan, its sound, and the truth about both."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.demo.make import Demo, Progress, check_size, in_folder, write_scan, write_truth
from lamphouse.graph.demo.seeds.records import as_document
from lamphouse.graph.demo.seeds.roll import SeededPlan
from lamphouse.graph.demo.seeds.seeded import seeded
from lamphouse.graph.demo.sound import SAMPLES_PER_FRAME, lay_pip, write_sound
from lamphouse.graph.demo.sound_voices import coloured_noise
from lamphouse.graph.demo.story import GAUGE, RATE
from lamphouse.graph.files.whole_file import whole_file
from lamphouse.nodes.errors import BadInput

AIR = (120, 1800, 0.01)  # from and to which hertz the air of the picture's sound reaches, and how loud it is


def make_seeded(
    folder: Path, number: int, *, width: int = 640, shorten: int = 1, progress: Progress | None = None
) -> Demo:
    """Write the reel of a number into `folder`: a scan as the demo reel's, its sound, its truth.

    Raises BadInput for a number or a size that cannot be used, or where the disk refuses.
    """
    if number < 0:
        raise BadInput(f"There is no reel of number {number}; give a whole number from 0.")
    check_size(width, shorten)
    reel = seeded(number, width, shorten)
    scan, sound, facts = in_folder(folder)
    with whole_file(scan) as file:
        write_scan(file, reel.pictures.raster, reel.frames(), reel.roll.frames, progress)
    write_sound(sound, mix(reel.roll))
    write_truth(facts, as_document(reel.truth))
    return Demo(
        scan=scan,
        sound=sound,
        truth=facts,
        frames=reel.roll.frames,
        rate=str(RATE),
        gauge=GAUGE,
        width=width,
        height=reel.pictures.raster.height,
        head_mark=reel.roll.head_mark,
        shots=(),
    )


def mix(plan: SeededPlan) -> NDArray[np.float64]:
    """Return the sound of a reel, (samples, 2), full scale 1: air under the picture, a pip in the leader."""
    low, high, loud = AIR
    wave = np.zeros((plan.frames * SAMPLES_PER_FRAME, 2))
    first, stop = (frame * SAMPLES_PER_FRAME for frame in (plan.shots[0].stop, plan.shots[-1].first))
    for side in (0, 1):
        wave[first:stop, side] = loud * coloured_noise(2 * plan.number + side, stop - first, low, high)
    lay_pip(wave, plan.sync)
    return wave
