"""The step to the monitor, the only place that knows it: BT.1886 as that monitor shows the same light."""

from __future__ import annotations

from typing import Any

from lamphouse.nodes.colour_encoding import ColourEncoding
from lamphouse.nodes.maths import lattice, maximum
from lamphouse.viewer.models.monitors import Monitor

_SRGB = ColourEncoding("srgb")


def monitor_code(video: Any, monitor: Monitor) -> Any:
    """Return the monitor's R'G'B' of video signal: light = signal ** 2.4, none below black."""
    seen = maximum(video, 0.0)
    if monitor.table is None:
        return monitor.colour.encoded(seen)
    return lattice(_SRGB.encoded(seen), monitor.table)
