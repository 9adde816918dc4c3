"""What stands before and after the picture of a master: bars and tone to line up by, and black."""

from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

# R'G'B' of eight bars, in the order of falling luma: common practice after ITU-R BT.471 (from memory).
BARS: Final = {
    "white": (1, 1, 1),
    "yellow": (1, 1, 0),
    "cyan": (0, 1, 1),
    "green": (0, 1, 0),
    "magenta": (1, 0, 1),
    "red": (1, 0, 0),
    "blue": (0, 0, 1),
    "black": (0, 0, 0),
}
AMPLITUDE: Final = 0.75
TONE_HERTZ: Final = 1000
TONE_LEVEL: Final = -18  # dB below full scale: EBU R 68, from memory


def bars(width: int, height: int) -> NDArray[np.float32]:
    """Return 75 % colour bars, R'G'B' (3, height, width); each bar begins on an even column."""
    edges = [2 * round(width * bar / (2 * len(BARS))) for bar in range(len(BARS))] + [width]
    picture = np.empty((3, height, width), np.float32)
    for colour, (start, stop) in zip(BARS.values(), pairwise(edges), strict=True):
        picture[:, :, start:stop] = np.array(colour, np.float32)[:, None, None] * np.float32(AMPLITUDE)
    return picture


def black(width: int, height: int) -> NDArray[np.float32]:
    """Return black, R'G'B' (3, height, width)."""
    return np.zeros((3, height, width), np.float32)


def tone(start: int, stop: int, rate: int, channels: int) -> NDArray[np.float32]:
    """Return samples [start, stop) of a 1 kHz sine at -18 dBFS, float32 (channels, n), alike in all channels.

    The peak of a sine at 0 dBFS is full scale. Phase is reckoned from sample 0, in whole numbers,
    so that blocks join without a step.
    """
    turns = np.arange(start, stop, dtype=np.int64) * TONE_HERTZ % rate
    wave = 10 ** (TONE_LEVEL / 20) * np.sin(2 * np.pi * turns / rate)
    return np.tile(wave.astype(np.float32), (channels, 1))
