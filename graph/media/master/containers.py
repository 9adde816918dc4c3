"""The containers that a master may be in: how it is called, which rates it takes, when it can be read."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Final, NamedTuple

from lamphouse.graph.time.rate import VIDEO_RATES


class Container(NamedTuple):
    """A movie has a `suffix`; stills lie in a folder, which has none.

    What `grows` can be read from its beginning while it is written, and where it is cut off. `rates` are
    those it has a number for; none where it takes any.
    """

    suffix: str = ""
    grows: bool = True
    rates: tuple[Fraction, ...] = ()


CONTAINERS: Final[Mapping[str, Container]] = {
    "matroska": Container(".mkv"),
    "mov": Container(".mov", grows=False),  # its index comes last
    "mp4": Container(".mp4", grows=False),
    # Those that FFmpeg's writer of MXF has content packages for: tried, with PyAV 18.1 and 19.0.
    "mxf": Container(".mxf", rates=tuple(sorted(VIDEO_RATES))),
    "tiff": Container(),
    "dpx": Container(),
}


def is_movie(container: str) -> bool:
    """Say whether a master in that container is one file, and not a folder of stills."""
    return bool(CONTAINERS[container].suffix)
