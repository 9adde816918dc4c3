"""What a scan's file says of its colour, in our words where we have them, else in its own."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from lamphouse.graph.media.codes.colour_tags import (
    DPX_ADX,
    DPX_PRIMARIES,
    DPX_TRANSFERS,
    DPX_UNSTATED,
    OTHER_PRIMARIES,
    OTHER_TRANSFERS,
    PRIMARIES,
    TRANSFERS,
    UNSTATED,
    usual_primaries,
)
from lamphouse.nodes.colour_encoding import WORKING_PRIMARIES, ColourEncoding
from lamphouse.nodes.one_line import one_line
from lamphouse.nodes.primaries import D65
from lamphouse.nodes.primaries import PRIMARIES as CHROMATICITIES

if TYPE_CHECKING:
    from av import VideoFrame

NEAR: Final = 0.002  # CIE 1931 x and y; the libraries that write them round to three or four places
CHROMATICITIES_STATED: Final = 8
PNG_HEAD: Final = 8
SRGB_PROFILE: Final = "srgb"


@dataclass(frozen=True, slots=True)
class Tag:
    """One thing that a file says: `name` is our word for it; where that is None, `words` is what it says."""

    name: str | None
    words: str


@dataclass(frozen=True, slots=True)
class Stated:
    """What a file says of transfer and primaries, None where it says nothing; `more` is what else it says.

    `usual` are the primaries that go with the matrix by which it is read.
    """

    transfer: Tag | None = None
    primaries: Tag | None = None
    more: tuple[str, ...] = ()
    usual: str = WORKING_PRIMARIES

    @property
    def colour(self) -> ColourEncoding:
        """What the codes mean by that; what is left open, or has none of our words, is as usual."""
        transfer = self.transfer.name if self.transfer else None
        primaries = self.primaries.name if self.primaries else None
        return ColourEncoding(transfer or ColourEncoding().transfer, primaries or self.usual)

    @property
    def words(self) -> str:
        """All of it for a person, such as `primaries bt2020, transfer pq`."""
        tags = (("primaries", self.primaries), ("transfer", self.transfer))
        return ", ".join([*(f"{what} {tag.name or tag.words}" for what, tag in tags if tag), *self.more])


def stated_by_codes(primaries: int, transfer: int, more: tuple[str, ...] = ()) -> Stated:
    """Return what code points of ITU-T H.273 say."""
    return Stated(
        _of_code(transfer, TRANSFERS, OTHER_TRANSFERS),
        _of_code(primaries, PRIMARIES, OTHER_PRIMARIES),
        more,
    )


def _of_code(code: int, known: Mapping[int, str], others: Mapping[int, str]) -> Tag | None:
    if code in UNSTATED:
        return None
    return Tag(known.get(code), others.get(code, f"code point {code} of ITU-T H.273"))


def stated_by_movie(frame: VideoFrame, matrix: str | None, more: tuple[str, ...]) -> Stated:
    """Return what the tags of a movie that is read by `matrix` say; `more` are those of matrix and range."""
    stated = stated_by_codes(int(frame.color_primaries), int(frame.color_trc), more)
    return replace(stated, usual=usual_primaries(matrix or "rgb", frame.height))


def stated_by_still(path: Path, spec: Any) -> Stated:
    """Return what the header of a still says."""
    kind = path.suffix.lower()
    if kind == ".dpx":
        return _by_dpx(spec)
    if kind == ".exr":  # whose document says that it holds linear light
        return Stated(Tag("light", ""), _by_chromaticities(spec.getattribute("chromaticities")))
    if kind == ".png" and (found := _by_png(path)) is not None:
        return found
    return Stated(_by_profile(spec))


def _by_dpx(spec: Any) -> Stated:
    transfer = spec.get_string_attribute("dpx:Transfer")
    colorimetric = spec.get_string_attribute("dpx:Colorimetric")
    primaries = DPX_PRIMARIES.get(colorimetric)
    return Stated(_dpx_transfer(transfer, spec), Tag(primaries, "") if primaries else None)


def _dpx_transfer(words: str, spec: Any) -> Tag | None:
    if words == DPX_ADX:
        bits = spec.get_int_attribute("oiio:BitsPerSample") or spec.format.size() * 8
        return Tag({10: "adx10", 16: "adx16"}.get(bits), f"{words} of {bits} bits")
    return None if words in DPX_UNSTATED else Tag(DPX_TRANSFERS.get(words), words.lower())


def _by_chromaticities(stated: Any) -> Tag | None:
    """Return the primaries that have the x and y of red, green, blue and white that OpenEXR states."""
    if stated is None:
        return None
    if not isinstance(stated, tuple) or len(stated) != CHROMATICITIES_STATED:
        return Tag(None, "chromaticities that are none")
    for name, known in CHROMATICITIES.items():
        if np.allclose(stated, (*known.red, *known.green, *known.blue, *D65), rtol=0, atol=NEAR):
            return Tag(name, "")
    return Tag(None, "chromaticities " + " ".join(f"{value:.4g}" for value in stated))


def _by_png(path: Path) -> Stated | None:
    """Return what a PNG says in the chunks cICP and sRGB of its third edition, of which cICP goes first."""
    chunks = dict(_chunks(path))
    if len(said := chunks.get(b"cICP", b"")) == 4:
        return stated_by_codes(said[0], said[1])
    return stated_by_codes(1, 13) if b"sRGB" in chunks else None


def _chunks(path: Path) -> Iterator[tuple[bytes, bytes]]:
    """Yield name and contents of the short chunks of a PNG that stand before its pixels."""
    with path.open("rb") as file:
        file.seek(PNG_HEAD)
        while len(head := file.read(8)) == 8 and head[4:] != b"IDAT":
            length = int.from_bytes(head[:4], "big")
            if length <= PNG_HEAD:
                yield head[4:], file.read(length)
                length = 0
            file.seek(length + 4, 1)  # what is left of it, and its checksum


def _by_profile(spec: Any) -> Tag | None:
    """Return the transfer of an ICC profile, of which we know none but that of sRGB, by its name."""
    if spec.getattribute("ICCProfile") is None:
        return None
    name = one_line(spec.get_string_attribute("ICCProfile:profile_description", "without a name"))
    return Tag("srgb" if SRGB_PROFILE in name.lower() else None, f"the ICC profile {name}")
