"""Curves drawn through points: one for all channels, then one for each."""

from collections.abc import Mapping
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.declare import Node, Reach, Signal
from lamphouse.nodes.maths import curve
from lamphouse.nodes.monotone import through
from lamphouse.nodes.parameter import Kind, Parameter
from lamphouse.nodes.values import Travel, Value

STRAIGHT: Final = ((0.0, 0.0), (1.0, 1.0))

# Straight lines between this many entries stay within 1e-6 of a smooth curve.
ENTRIES: Final = 4097


def curves(picture: Any, p: Any) -> Any:
    """The channel's curve of the master curve of x; straight on beyond 0 and 1."""
    return curve(picture, p.table, p.ends)


def derive_table(values: Mapping[str, Value]) -> dict[str, NDArray[np.float64]]:
    """Return the table (3, ENTRIES) and end slopes (3, 2) of the master curve followed by each channel's."""
    master = through(values["master"])
    channels = [through(values[name]) for name in ("red", "green", "blue")]
    x = np.linspace(0, 1, ENTRIES)
    height, slope = master(x), master.slope(x[[0, -1]])
    drawn = {channel: channel(height) for channel in channels}  # channels are often one curve
    return {
        "table": np.stack([drawn[channel] for channel in channels]),
        "ends": np.stack([channel.slope(height[[0, -1]]) * slope for channel in channels]),
    }


def _drawn(name: str, sentence: str) -> Parameter:
    return Parameter(
        name,
        sentence,
        STRAIGHT,
        kind=Kind.POINTS,
        low=-0.5,
        high=1.5,
        travel=Travel.POINTS,
        source="monotone cubic: Fritsch and Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300",
    )


CURVES = Node(
    name="curves",
    sentence="Tone curves drawn by points, for all channels and for each.",
    signal=Signal.VIDEO,
    reach=Reach.POINT,
    body=curves,
    derive=derive_table,
    parameters=(
        _drawn("master", "Curve of all three channels."),
        _drawn("red", "Curve of red, after the master's."),
        _drawn("green", "Curve of green, after the master's."),
        _drawn("blue", "Curve of blue, after the master's."),
    ),
)
