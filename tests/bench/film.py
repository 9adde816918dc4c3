"""Frames to measure on: scikit-image's photograph of an astronaut, enlarged, moving, with invented grain."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import numpy as np
from skimage import data

from lamphouse.graph.media.codes.decode_planes import Coded, Coding, coded
from lamphouse.graph.media.codes.encode_planes import Blank, blank_frame, encode_into, plane_coding
from lamphouse.graph.media.codes.resample import resize
from lamphouse.graph.media.master.master import open_master
from lamphouse.graph.reel.records import Delivery

RATE = Fraction(24)
MOTION = 32  # pixels that the picture travels before it begins again
GRAIN = 0.008  # of full scale, invented

PLANAR_16 = Delivery(container="matroska", codec="ffv1", pixel_format="gbrp16le", matrix="rgb", range="full")
BROADCAST = Delivery(container="matroska", codec="ffv1", pixel_format="yuv422p10le")


def pictures(width: int, height: int, count: int) -> Iterator[np.ndarray]:
    """Yield `count` pictures, R'G'B' (3, height, width) from 0 to 1."""
    photograph = np.moveaxis(np.asarray(data.astronaut(), np.float32) / 255, -1, 0)
    wide = resize(np.ascontiguousarray(photograph), width + MOTION, height + MOTION, "lanczos3")
    rng = np.random.default_rng(24)
    for number in range(count):
        at = number % MOTION
        moved = wide[:, at : at + height, at : at + width]
        grain = rng.standard_normal(moved.shape, np.float32) * np.float32(GRAIN)
        yield np.clip(moved + grain, 0, 1)


def planar_16(width: int, height: int) -> tuple[Coded, Blank]:
    """Return a frame in 16-bit planar R'G'B', and an empty one to write into."""
    coding = plane_coding(PLANAR_16.pixel_format, PLANAR_16.matrix, PLANAR_16.range)
    full, empty = (blank_frame(width, height, PLANAR_16.pixel_format, coding) for _ in range(2))
    encode_into(next(pictures(width, height, 1)), full.planes, coding)
    return coded(full.holder, Coding(None, PLANAR_16.range)), empty


def write_scan(path: Path, delivery: Delivery, size: tuple[int, int], count: int) -> None:
    """Write a movie of `count` frames at `path`."""
    width, height = size
    facts = {"rate": RATE, "timecode": "10:00:00:00", "pixel_aspect": Fraction(1)}
    with open_master(path, delivery, width=width, height=height, **facts) as master:
        for picture in pictures(width, height, count):
            master.write(picture)
        master.finish()
