"""The monitors that a picture can be shown on: how their codes become light, by open standards."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final

from numpy.typing import NDArray

from lamphouse.nodes.colour_encoding import ColourEncoding


@dataclass(frozen=True, slots=True, eq=False)
class Monitor:
    """What a monitor makes of its codes, and how that is stated.

    Where there is a `table`, a lattice (n, n, n, 3) from sRGB codes to the monitor's own, it stands for what
    `colour` says elsewhere. Each equals itself alone.
    """

    stated: str
    colour: ColourEncoding
    source: str
    table: NDArray[Any] | None = None


SRGB: Final = "sRGB"
MONITORS: Final[Mapping[str, Monitor]] = MappingProxyType(
    {
        SRGB: Monitor("BT.1886, shown as sRGB", ColourEncoding("srgb"), "IEC 61966-2-1"),
        "BT.1886": Monitor(
            "BT.1886, for a monitor of gamma 2.4", ColourEncoding("video"), "ITU-R BT.1886 with black at zero"
        ),
        "P3-D65, sRGB curve": Monitor(
            "BT.1886, shown as P3-D65 with the curve of sRGB",
            ColourEncoding("srgb", "p3-d65"),
            "primaries of SMPTE EG 432-1, IEC 61966-2-1; display-p3 of W3C CSS Color 4",
        ),
        "P3-D65, gamma 2.6": Monitor(
            "BT.1886, shown as P3-D65 of gamma 2.6",
            ColourEncoding("gamma-2.6", "p3-d65"),
            "SMPTE EG 432-1, with the exponent of SMPTE RP 431-2",
        ),
    }
)
