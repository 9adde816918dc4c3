"""Stretches of film that may be changes of shot, of which those that overlap cannot both be."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Protocol, TypeVar


class Span(Protocol):
    """Frames [first, stop), and how plainly they are a change of shot."""

    @property
    def first(self) -> int:
        """The first frame."""

    @property
    def stop(self) -> int:
        """The frame after the last."""

    @property
    def score(self) -> float:
        """1 where it is just one."""


Some = TypeVar("Some", bound=Span)


def apart(found: Iterable[Some]) -> list[Some]:
    """Return the plainest of those that overlap, in their order; they may touch."""
    taken: list[Some] = []
    for span in sorted(found, key=lambda span: -span.score):
        if all(span.stop <= other.first or span.first >= other.stop for other in taken):
            taken.append(span)
    return sorted(taken, key=lambda span: span.first)
