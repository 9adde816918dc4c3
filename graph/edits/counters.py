"""Where the counters of a reel begin, and how its timecode counts."""

from __future__ import annotations

from fractions import Fraction

import msgspec

from lamphouse.graph.reel.counters import counter
from lamphouse.graph.reel.records import Counting, Reel
from lamphouse.graph.time.footage import frames_per_foot
from lamphouse.graph.time.rate import parse_rate
from lamphouse.graph.time.timecode import as_counted, can_drop
from lamphouse.nodes.errors import BadInput


def with_start(reel: Reel, start: str | None = None, counting: Counting | None = None) -> Reel:
    """Return `reel` whose timecode reads `start` at the head mark, and counts so; None leaves either.

    Where only the counting changes, the reading at the head mark stays as near as there is one. Raises
    BadInput for what is no timecode, or is left out, and for drop-frame counting at a rate that has none.
    """
    known = counter(reel)
    if counting == "drop" and not can_drop(known.rate):
        raise BadInput(f"Drop-frame counting is for 29.97 and 59.94; this reel runs at {reel.rate}.")
    counts = counting or reel.counting
    if start is None:
        start = as_counted(
            reel.start, known.rate, known.rate, drops=known.drops, other_drops=counts == "drop"
        )
    changed = msgspec.structs.replace(reel, start=start.strip(), counting=counts)
    counter(changed)
    return changed


def with_gauge(reel: Reel, gauge: str) -> Reel:
    """Return `reel` as film of another gauge, by which its feet are counted. Raises BadInput for none."""
    frames_per_foot(gauge)
    return msgspec.structs.replace(reel, gauge=gauge)


def of_scan(timecode: str, scan_rate: Fraction | None, rate: str) -> tuple[str, Counting | None]:
    """Return the start and the counting of a reel at `rate` whose scan begins at `timecode`.

    Raises BadInput where the scan's timecode is none.
    """
    own = parse_rate(rate)
    counted, drops = scan_rate or own, ";" in timecode
    start = as_counted(timecode, counted, own, drops=drops, other_drops=drops)
    if not can_drop(own):
        return start, None
    return start, "drop" if drops else "non-drop"
