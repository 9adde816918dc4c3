"""A reel's own pixels: what a LUT costs on the pictures that it is for, not on every colour there is."""

from __future__ import annotations

from math import ceil, gcd
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.reel.records import Cue, Reel
from lamphouse.graph.reel_files.opened import OpenedReel

FRAMES: Final = 5  # spread over the cue; a shot changes slowly, and each costs a decoding


def reel_pixels(opened: OpenedReel, cue: Cue, count: int = 40_000) -> NDArray[np.float32]:
    """Return about `count` pixels of the frames that `cue` alone holds: codes of the scan, (3, n).

    The same pixels each time. Raises BadInput where the scan is missing or cannot be read.
    """
    with opened.open_scan() as scan:
        frames = held_frames(opened.reel, cue)
        every = _step(scan.width, scan.width * scan.height * len(frames) / count)
        return np.concatenate([scan.read(frame).reshape(3, -1)[:, ::every] for frame in frames], axis=1)


def held_frames(reel: Reel, cue: Cue) -> list[int]:
    """Return up to FRAMES frames spread over what the cue alone holds."""
    following = min((c for c in reel.cues if c.frame > cue.frame), key=lambda c: c.frame, default=None)
    stop = reel.scan.frames if following is None else following.frame - following.length
    return spread(cue.frame, max(stop, cue.frame + 1))  # its own, where the next transition begins on it


def spread(first: int, stop: int) -> list[int]:
    """Return up to FRAMES frames in the middles of equal parts of those from `first` to before `stop`."""
    length = max(stop - first, 1)
    parts = min(FRAMES, length)
    return [first + (2 * part + 1) * length // (2 * parts) for part in range(parts)]


def _step(width: int, least: float) -> int:
    """Return a step of at least `least` pixels that visits every column."""
    step = max(1, ceil(least))
    while gcd(step, width) > 1:
        step += 1
    return step
