"""How long the reel is, and how much of it is left, in words."""

from __future__ import annotations

import math
from fractions import Fraction

from lamphouse.graph.reel.counters import counter
from lamphouse.graph.time.timecode import timecode
from lamphouse.viewer.models.desk import Desk


def length_text(desk: Desk) -> str:
    """Return the length of the reel: `00:00:32:00, 800 frames`."""
    frames = desk.reel.scan.frames
    return f"{_timecode(desk, frames)}, {frames} frame{'' if frames == 1 else 's'}"


def left_text(desk: Desk, now: int) -> str:
    """Return what is left after the frame that is seen, and while it plays, how long that takes so."""
    left = desk.reel.scan.frames - 1 - desk.frame
    transport = desk.transport
    speed = transport.speed if transport.is_moving(now) and transport.loop is None else Fraction(0)
    if speed == 0:
        return f"{_timecode(desk, left)}, {left} left"
    frames = left if speed > 0 else desk.frame
    seconds = math.ceil(frames / abs(speed) / transport.rate)
    end = "end" if speed > 0 else "start"
    return f"{_timecode(desk, left)}, {left} left, {end} in {seconds // 60}:{seconds % 60:02}"


def _timecode(desk: Desk, frames: int) -> str:
    """Return so many frames as timecode counts them from zero."""
    return timecode(frames, counter(desk.reel).rate, drops=desk.reel.counting == "drop")
