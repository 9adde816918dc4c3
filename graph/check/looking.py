"""The pictures of a master handed to those who watch, as they are decoded: in a check, or beside a pass."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, Final, NamedTuple

import av
import numpy as np

from lamphouse.graph.check.findings import Finding, Names
from lamphouse.graph.check.watches import Seen, Watch
from lamphouse.graph.media.codes.decode_planes import Coded, Coding, coded
from lamphouse.graph.media.codes.encode_planes import Blank, plane_coding
from lamphouse.graph.media.scan.movie_facts import coding_of
from lamphouse.graph.reel.records import Delivery
from lamphouse.nodes.errors import BadInput, clause
from lamphouse.nodes.one_line import sentence

Kind = tuple[str, int, int]


class Meant(NamedTuple):
    """What codes mean, where somebody knows better than their tags."""

    matrix: str | None = None
    range_: str | None = None


AS_STATED: Final = Meant()


class Looking:
    """Shows frames to `watches`: those of the kind of the first, for others are a fault by themselves.

    `delivery` says what codes mean where it is known, else what is `meant` does, else tags; `bits` is the
    depth of stills.
    """

    def __init__(
        self,
        watches: Sequence[Watch],
        delivery: Delivery | None = None,
        *,
        meant: Meant = AS_STATED,
        codec: str = "",
        bits: int = 16,
    ) -> None:
        self._watches, self._delivery, self._codec, self._bits = watches, delivery, codec, bits
        self._meant = Meant(delivery.matrix, delivery.range) if delivery else meant
        self._kind: Kind | None = None
        self._coding: Coding | None = None
        self._others: list[tuple[int, str]] = []
        self._unread = ""
        self.frames = 0
        self.notes: list[str] = []

    def decoded(self, number: int, codes: Any) -> None:
        """Show a picture as it was decoded: a frame of a movie, or (3, h, w) of a still."""
        if self._unread:
            return
        try:
            picture = self._of_movie(codes) if isinstance(codes, av.VideoFrame) else self._of_still(codes)
        except BadInput as error:
            self._unread = clause(error)
            return
        self._show(number, picture, _kind(codes))

    def filled(self, number: int, blank: Blank) -> None:
        """Show a picture as it is given to an encoder."""
        coding = blank.coding
        picture = Coded(tuple(blank.planes), coding.layout, Coding(coding.matrix, coding.range_))
        self._show(number, picture, ("filled", *blank.planes[0].shape))

    def found(self, names: Names) -> Iterator[Finding]:
        """Yield what could not be shown, then what each watch has found."""
        if self._unread:
            yield Finding("unreadable", sentence(f"Its pictures cannot be checked: {self._unread}."))
        for number, kind in self._others[:1]:
            more = f", and so are {len(self._others) - 1} more" if len(self._others) > 1 else ""
            yield names.finding("kind", number, number + 1, f"is {kind}, and not as the first{more}")
        for watch in self._watches if self.frames else ():
            yield from watch.found(names)

    def said(self) -> Iterator[str]:
        """Yield what was assumed of the codes, then what each watch has found good."""
        yield from self.notes
        for watch in self._watches if self.frames else ():
            yield from watch.said()

    def _show(self, number: int, picture: Coded, kind: Kind) -> None:
        self._kind = self._kind or kind
        if kind != self._kind:
            self._others.append((number, f"{kind[2]}x{kind[1]} {kind[0]}"))
            return
        seen = Seen(picture)
        self.frames += 1
        for watch in self._watches:
            watch.see(number, seen)

    def _of_movie(self, frame: av.VideoFrame) -> Coded:
        if self._coding is None:
            matrix = None if self._meant.matrix == "rgb" else self._meant.matrix
            self._coding, notes = coding_of(frame, self._codec, matrix, self._meant.range_)
            self.notes += notes
        return coded(frame, self._coding)

    def _of_still(self, codes: Any) -> Coded:
        kept = self._delivery
        form = kept.pixel_format if kept else "gbrp" if self._bits == 8 else f"gbrp{self._bits}le"
        layout = plane_coding(form, "rgb", "full").layout
        planes = tuple(codes[:3]) if len(codes) >= 3 else (codes[0],) * 3
        return Coded(planes, layout, Coding(None, self._meant.range_ or "full"))


def _kind(codes: Any) -> Kind:
    if isinstance(codes, av.VideoFrame):
        return codes.format.name, codes.height, codes.width
    return f"{len(codes)} channels", *np.shape(codes)[1:]
