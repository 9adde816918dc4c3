"""How loud sound should be, by whom, and where that stands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class Target:
    """The loudness that a programme should have, in LUFS, give or take; its peak in dBTP at most."""

    rule: str
    loudness: float
    tolerance: float
    peak: float
    source: str


TARGETS: Final[dict[str, Target]] = {
    "R128": Target("EBU R 128", -23, 0.5, -1, "EBU R 128 v5, from memory"),
    "A85": Target("ATSC A/85", -24, 2, -2, "ATSC A/85, from memory"),
    "TR-B32": Target("ARIB TR-B32", -24, 1, -1, "ARIB TR-B32, from memory"),
}
