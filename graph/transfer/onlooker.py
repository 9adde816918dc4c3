"""Whoever looks on while a master is made: an operator at a second monitor."""

from __future__ import annotations

from typing import Any, Protocol

from lamphouse.graph.media.codes.encode_planes import Blank


class Onlooker(Protocol):
    """Is shown pictures by the number of their frame in the whole master, each on the thread that has it.

    What it is shown is not its own: it has to look at once, quickly, and must neither keep nor change it.
    """

    def sent(self, number: int, filled: Blank) -> None:
        """See the codes of a frame that are now given to the encoder."""

    def came(self, number: int, codes: Any) -> None:
        """See the same frame as it was decoded from the disk: a frame of a movie, or (3, h, w) of a still."""
