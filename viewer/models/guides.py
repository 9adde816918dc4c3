"""What a picture is framed by: lines over it, in shares of its frame."""

from __future__ import annotations

from collections.abc import Set as AbstractSet
from typing import Final

from lamphouse.graph.reel.records import Delivery, Reel
from lamphouse.viewer.models.frame import Lie, Point, corners_of, gate_of, safe_areas
from lamphouse.viewer.models.screens import Guide

Line = tuple[Point, Point]

ARM: Final = 0.04  # of the cross in the centre, in heights of the frame
PARTS: Final = (1 / 3, 2 / 3)


def lines_of(guides: AbstractSet[Guide], shape: float) -> list[Line]:
    """Return the lines of the centre and of thirds in a frame that is `shape` times as wide as high."""
    lines: list[Line] = []
    if "centre" in guides:
        across = ARM / shape
        lines += [((0.5 - across, 0.5), (0.5 + across, 0.5)), ((0.5, 0.5 - ARM), (0.5, 0.5 + ARM))]
    if "thirds" in guides:
        lines += [line for part in PARTS for line in (((part, 0.0), (part, 1.0)), ((0.0, part), (1.0, part)))]
    return lines


def all_lines(
    guides: AbstractSet[Guide], reel: Reel, delivery: Delivery | None, lie: Lie, shape: float
) -> list[Line]:
    """Return the lines of all guides, over a frame in which the scan lies so."""
    lines = lines_of(guides, shape)
    outlines = [corners_of(box) for _, box in safe_areas(reel, delivery)] if "safe" in guides else []
    if "gate" in guides:
        outlines.append([lie.shown(corner) for corner in corners_of(gate_of(reel)[0])])
    for corners in outlines:
        lines += zip(corners, (*corners[1:], corners[0]), strict=True)
    return lines
