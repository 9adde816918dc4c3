"""What stands before and after the picture of a master: bars and tone to line up by, and black."""

from fractions import Fraction
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
TONE_HERTZ: Final = 1000
TONE_LEVEL: Final = -18  # dB below full scale: EBU R 68, from memory; SMPTE RP 155 has -20
# The left channel is marked by a break of 250 ms every 3 s: after EBU practice, from memory. Both are whole
# numbers of turns, so that it ends and begins where the wave is zero.
EVERY: Final = 3
BREAK: Final = Fraction(1, 4)


def bars(width: int, height: int, form: str = "75/0/75/0") -> NDArray[np.float32]:
    """Return colour bars, R'G'B' (3, height, width); each bar begins on an even column.

    `form` names them as ITU-R BT.471 does (from memory): per cent of the white bar and of the black one, then
    the most and the least that a primary has in the coloured bars.
    """
    white, low, most, least = (np.float32(int(share) / 100) for share in form.split("/"))
    edges = [2 * round(width * bar / (2 * len(BARS))) for bar in range(len(BARS))] + [width]
    picture = np.empty((3, height, width), np.float32)
    for (name, colour), (start, stop) in zip(BARS.items(), pairwise(edges), strict=True):
        high, low_ = {"white": (white, low), "black": (white, low)}.get(name, (most, least))
        picture[:, :, start:stop] = np.where(colour, high, low_)[:, None, None]
    return picture


def tone(
    start: int, stop: int, rate: int, channels: int, *, level: int = TONE_LEVEL, marks_left: bool = False
) -> NDArray[np.float32]:
    """Return samples [start, stop) of a 1 kHz sine at `level` dBFS, float32 (channels, n), in all channels.

    The peak of a sine at 0 dBFS is full scale. Phase is reckoned from sample 0, in whole numbers,
    so that blocks join without a step. Where it `marks_left`, that channel alone has breaks.
    """
    samples = np.arange(start, stop, dtype=np.int64)
    wave = 10 ** (level / 20) * np.sin(2 * np.pi * (samples * TONE_HERTZ % rate) / rate)
    sound = np.tile(wave.astype(np.float32), (channels, 1))
    if marks_left and channels > 1:
        sound[0, samples % (EVERY * rate) >= int((EVERY - BREAK) * rate)] = 0
    return sound
