"""What the codes of a master mean, and the words in which its file says so.

Where no code point and no word of a header says it, the file says that it does not say.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from lamphouse.graph.media.codes.colour_tags import (
    PRIMARIES,
    TRANSFER_CODES,
    UNSPECIFIED,
    VIDEO_OF,
    VIDEO_OF_BT2020,
    usual_primaries,
)
from lamphouse.graph.media.codes.encode_planes import PlaneCoding, plane_coding
from lamphouse.graph.reel.records import Delivery, ScanRef
from lamphouse.graph.reel.span import lead_in
from lamphouse.nodes.colour_encoding import TRANSFERS, ColourEncoding
from lamphouse.nodes.errors import BadInput

DENSITY: Final = "density"
BT1886: Final = "bt1886"

# The least of the code points that say the same.
_PRIMARIES_CODES: Final = {name: code for code, name in sorted(PRIMARIES.items(), reverse=True)}

# ITU-T H.273, table 4, from memory: of BT.601 by lines.
_MATRIX_CODES: Final = {"rgb": 0, "bt709": 1, "bt601-625": 5, "bt601-525": 6, "bt2020": 9}

# SMPTE ST 268-1 by OpenImageIO's words, (transfer, colorimetric): all that it has words for.
_USER_DEFINED: Final = "User defined"
_DPX_VIDEO: Final = {
    "bt709": "ITU-R 709-4",
    "bt601-625": "ITU-R 601-5 system B or G",
    "bt601-525": "ITU-R 601-5 system M",
}
_DPX_DENSITY: Final = "Printing density"
_DPX_OTHER_VIDEO: Final = "Unspecified video"


def delivered_colour(delivery: Delivery, height: int) -> ColourEncoding:
    """Return what the codes of a master of `height` lines mean."""
    transfer = delivery.transfer or BT1886
    primaries = delivery.primaries or usual_primaries(delivery.matrix, height)
    return ColourEncoding("video" if transfer == BT1886 else transfer, primaries)


def colour_of_pass(delivery: Delivery, scan: ScanRef) -> ColourEncoding:
    """Return what the codes of a master of `scan` mean."""
    return delivered_colour(delivery, delivery.height or scan.height)


def coding_of(delivery: Delivery, height: int) -> PlaneCoding:
    """Return how a picture becomes the codes of a master of `height` lines."""
    colour = delivered_colour(delivery, height)
    coding = plane_coding(delivery.pixel_format, delivery.matrix, delivery.range, colour)
    return replace(coding, levels=delivery.levels)


def colour_tags(delivery: Delivery, height: int) -> tuple[int, int, int]:
    """Return the H.273 code points of primaries, transfer and matrix of a master of `height` lines."""
    matrix = usual_primaries(delivery.matrix, height) if delivery.matrix != "rgb" else "rgb"
    coding = coding_of(delivery, height)
    return *code_points(coding.colour, coding.layout.bits), _MATRIX_CODES[matrix]


def code_points(colour: ColourEncoding, bits: int) -> tuple[int, int]:
    """Return the H.273 code points of primaries and transfer of codes of `bits`; 2 where it has none."""
    has_none = TRANSFERS[colour.transfer].primaries is None
    primaries = UNSPECIFIED if has_none else _PRIMARIES_CODES[colour.primaries]
    return primaries, _transfer_code(colour, bits)


def _transfer_code(colour: ColourEncoding, bits: int) -> int:
    if colour.transfer != "video":
        return TRANSFER_CODES.get(colour.transfer, UNSPECIFIED)
    if colour.primaries == "bt2020":
        return VIDEO_OF_BT2020.get(bits, 1)
    return VIDEO_OF.get(colour.primaries, 1)


@dataclass(frozen=True, slots=True)
class DpxWords:
    """What the header of a DPX file says of transfer and colorimetric."""

    transfer: str
    colorimetric: str


def dpx_words(colour: ColourEncoding) -> DpxWords:
    """Return what the header of DPX says of codes of `colour`."""
    if colour.transfer == DENSITY:
        return DpxWords(_DPX_DENSITY, _DPX_DENSITY)
    known = _DPX_VIDEO.get(colour.primaries, _USER_DEFINED)
    if colour.transfer != "video":
        return DpxWords("Linear" if colour.transfer == "light" else _USER_DEFINED, known)
    return DpxWords(_DPX_OTHER_VIDEO if known == _USER_DEFINED else known, known)


def check_colour(delivery: Delivery) -> None:
    """Raise BadInput where the colour of a delivery does not go with the rest of it."""
    if delivery.transfer != DENSITY:
        return
    if delivery.primaries is not None:
        raise BadInput("Densities have no primaries; leave primaries out, or choose another transfer.")
    if delivery.matrix != "rgb" or delivery.range != "full":
        raise BadInput("Densities are delivered as R'G'B' of full range; set matrix rgb and range full.")
    if delivery.levels != "full":
        raise BadInput("Densities have no levels of video; set levels full, or choose another transfer.")
    if delivery.width is not None or lead_in(delivery) or delivery.black_after or delivery.burn_in:
        raise BadInput(
            "Densities are delivered at the raster of the scan without bars, black or readings, for there is "
            "no code for any; leave width, height and all of these out."
        )
