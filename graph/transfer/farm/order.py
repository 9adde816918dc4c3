"""What a worker is asked for: one segment of a pass, and all that it needs to know of the pass."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

import av

from lamphouse.graph.chain.back_end import BACK_END_VARIABLE, open_run
from lamphouse.graph.chain.installed import installed
from lamphouse.graph.files.json_document import read_document, write_document
from lamphouse.graph.files.record import Record, gather, spread
from lamphouse.graph.reel.limits import Count, Length
from lamphouse.graph.reel.records import Delivery, Reel
from lamphouse.graph.reel.store import reel_of
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.transfer.plan import Plan

CODERS: Final = "the version of FFmpeg's coders"
BACK_END: Final = f"the back end ({BACK_END_VARIABLE})"


class Order(Record, frozen=True, kw_only=True):
    """The frames `start` to `end` of the master, half-open, of the pass over `first` to `stop` of the scan.

    `made_of` has a digest of each thing that decides the frames, as whoever asks has them. The reel itself
    goes with it, but what it names lies where `reel_file` says. Paths are absolute.
    """

    reel_file: str
    reel: Reel
    delivery: Delivery
    first: Count
    stop: Length
    start: Count
    end: Length
    master: str
    without: tuple[str, ...] = ()
    made_of: dict[str, str] = {}
    reads_back: bool = True

    @property
    def pass_(self) -> Plan:
        """The whole pass, with the nodes that are here."""
        opened = OpenedReel(Path(self.reel_file), self.reel, installed())
        return Plan(opened, self.delivery, self.first, self.stop, self.without)


def engines() -> dict[str, str]:
    """Return what here makes codes and packets: another may make others of the same frames."""
    with open_run(1) as run:
        back_end = type(run).__name__
    return {CODERS: ".".join(map(str, av.library_versions["libavcodec"])), BACK_END: back_end}


def encode_order(order: Order) -> bytes:
    """Return `order` as JSON, for a worker of whatever version."""
    return write_document(spread(order), "The segment")


def decode_order(data: bytes) -> Order:
    """Return the order in `data`. Raises BadInput for one of another version."""
    document: Any = read_document(data, "The segment", "a segment")
    reel = reel_of(document["reel"], "The segment's reel")
    return gather({**document, "reel": spread(reel)}, Order)
