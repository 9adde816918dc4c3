"""What a pass is to write: which frames of which reel, with what before and after them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from lamphouse.graph.media.master.colour import colour_of_pass
from lamphouse.graph.reel.records import Delivery, Reel
from lamphouse.graph.reel.span import Span
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.colour_encoding import ColourEncoding
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.one_line import one_line


@dataclass(frozen=True)
class Plan:
    """What goes where in a master. `start` and `stop` are frames of the scan, half-open.

    `only` are the frames of the master that are made, where it is not the whole.
    `without` names nodes of the chain that may be missing: their pictures pass through.
    """

    opened: OpenedReel
    delivery: Delivery
    start: int
    stop: int
    without: tuple[str, ...] = ()
    only: range | None = None

    @property
    def reel(self) -> Reel:
        """The reel of which it is a pass."""
        return self.opened.reel

    @property
    def reel_name(self) -> str:
        """What a person calls the reel: the name of its file."""
        return one_line(self.opened.file.stem)

    @cached_property
    def span(self) -> Span:
        """Which frame of the whole master shows which of the reel."""
        return Span(self.reel, self.delivery, self.start, self.stop)

    @property
    def numbers(self) -> range:
        """The frames of the whole master that are made."""
        return self.only or range(self.span.frames)

    @property
    def colour(self) -> ColourEncoding:
        """What the codes of the master mean."""
        return colour_of_pass(self.delivery, self.reel.scan)

    @property
    def frames(self) -> int:
        """How many frames are made."""
        return len(self.numbers)


def plan(
    opened: OpenedReel, delivery: Delivery, start: int, stop: int, *, without: tuple[str, ...] = ()
) -> Plan:
    """Return the plan of a pass, or raise BadInput where there is nothing to transfer."""
    if start >= stop:
        raise BadInput(f"Nothing lies between frame {start} and frame {stop}; --to must come after --from.")
    return Plan(opened, delivery, start, stop, without)
