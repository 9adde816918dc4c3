"""The step to the monitor, the only place that knows it: BT.1886 as IEC 61966-2-1 shows it."""

from __future__ import annotations

from typing import Any

from lamphouse.nodes.declare import Signal
from lamphouse.nodes.maths import maximum
from lamphouse.nodes.signals import convert


def monitor_code(video: Any) -> Any:
    """Return the monitor's R'G'B' of video signal: light = signal ** 2.4, none below black, as sRGB."""
    return convert(maximum(video, 0.0), Signal.VIDEO, Signal.SRGB)
