"""Feet and frames: how film people name a place on a reel.

A foot is counted in frames, never measured, because film shrinks. Where it holds no
whole number of frames, foot n begins at the first frame that starts at or after n
feet, frame ceil(n * frames per foot), and the frame count restarts there. So at 35 mm
3-perf the feet hold 22, 21, 21 frames (a 64-frame cycle of three feet), and at 65 and
70 mm 5-perf 13, 13, 13, 13, 12 (a 64-frame cycle of five feet). The same numbers serve
both ways, so a place never moves by being written down.
"""

import re
from fractions import Fraction
from math import ceil
from typing import Final

from lamphouse.nodes.errors import BadInput, near_names

_FOOT = Fraction("304.8")  # mm
_PERFORATIONS = 64  # of 35, 65 and 70 mm film, in one foot: web article "Filmfuss"


def _perforations(frame: int) -> Fraction:
    return Fraction(_PERFORATIONS, frame)


# What a gauge is called, and the frames in a foot of it. The heights of 35, 65 and 70 mm are common practice.
_FRAMES_PER_FOOT = {
    "35mm": _perforations(4),  # "Filmfuss", which has 16, 8 and Super 8 too
    "35mm-3perf": _perforations(3),
    "35mm-2perf": _perforations(2),
    "35mm-8perf": _perforations(8),  # sideways
    "28mm": Fraction(41, 2),  # from memory
    # 500 feet last as long as 1000 of 35 mm: Transactions of the SMPE, September 1926, page 168. Films
    # of this width before it had other pitches.
    "17.5mm": Fraction(32),
    "16mm": Fraction(40),
    "super16": Fraction(40),
    # By the pitch in the web article "Filmschritt": 40.42 frames. "Filmfuss" counts 40, which is 38 frames
    # out after 90 feet.
    "9.5mm": _FOOT / Fraction("7.54"),
    "8mm": Fraction(80),
    "super8": Fraction(72),
    "65mm": _perforations(5),
    "65mm-8perf": _perforations(8),
    "65mm-15perf": _perforations(15),  # sideways, as is the print
    "70mm": _perforations(5),
    "70mm-8perf": _perforations(8),
    "70mm-15perf": _perforations(15),
}
GAUGES: Final = tuple(_FRAMES_PER_FOOT)
_WRITTEN = re.compile(r"(-?)([0-9]{1,9})\+([0-9]{1,3})")


def frames_per_foot(gauge: str) -> Fraction:
    """Return the frames in one foot of `gauge`, exactly: 16 for 35mm, 64/3 for 35mm-3perf.

    Raises BadInput, with near names, for a gauge that is not known.
    """
    frames = _FRAMES_PER_FOOT.get(gauge)
    if frames is None:
        raise BadInput(f"'{gauge}' is not a gauge{near_names(gauge, _FRAMES_PER_FOOT)}.")
    return frames


def footage(frame: int, gauge: str) -> str:
    """Return feet+frames of `frame`, counted from 0 at the mark: '12+05'; '-0+12' before the mark."""
    per_foot = frames_per_foot(gauge)
    foot = abs(frame) // per_foot
    sign = "-" if frame < 0 else ""
    return f"{sign}{foot}+{abs(frame) - ceil(foot * per_foot):02}"


def frame_of_footage(text: str, gauge: str) -> int:
    """Return the frame, counted from 0 at the mark, that feet+frames `text` names.

    Raises BadInput for what is not feet+frames, and for more frames than that foot holds.
    """
    per_foot = frames_per_foot(gauge)
    written = _WRITTEN.fullmatch(text.strip())
    if written is None:
        raise BadInput(f"'{text}' is not feet+frames; write it as 12+05, or -0+12 before the mark.")
    foot, frames = int(written[2]), int(written[3])
    begin, end = ceil(foot * per_foot), ceil((foot + 1) * per_foot)
    if begin + frames >= end:
        raise BadInput(
            f"'{text}' has too many frames: foot {foot} of {gauge} runs to {foot}+{end - begin - 1:02}."
        )
    return -(begin + frames) if written[1] else begin + frames
