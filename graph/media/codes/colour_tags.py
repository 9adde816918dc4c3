"""What files call primaries and transfers, by the names that we have for them: one table, read both ways."""

from collections.abc import Mapping
from typing import Final

from lamphouse.nodes.colour_encoding import WORKING_PRIMARIES

# Code points of ITU-T H.273, tables 2 and 3: numbers and names from memory, held against ffprobe's by tests.
UNSTATED: Final = (0, 2, 3)  # identity has no meaning here; unspecified; reserved
UNSPECIFIED: Final = 2
PRIMARIES: Final[Mapping[int, str]] = {
    1: "bt709",
    5: "bt601-625",
    6: "bt601-525",
    7: "bt601-525",
    9: "bt2020",
    12: "p3-d65",
}
OTHER_PRIMARIES: Final[Mapping[int, str]] = {
    4: "BT.470 System M",
    8: "generic film",
    10: "CIE XYZ (SMPTE ST 428-1)",
    11: "SMPTE RP 431-2 (P3 with the white of a projector)",
    22: "EBU Tech. 3213-E",
}
# Camera curves (1, 6, 7, 11, 12, 14, 15) are shown by BT.1886, and so taken as video.
TRANSFERS: Final[Mapping[int, str]] = {
    **dict.fromkeys((1, 6, 7, 11, 12, 14, 15), "video"),
    4: "gamma-2.2",
    5: "gamma-2.8",
    8: "light",
    13: "srgb",
    16: "pq",
    18: "hlg",
}
OTHER_TRANSFERS: Final[Mapping[int, str]] = {
    9: "logarithmic, 100 to 1",
    10: "logarithmic, 316 to 1",
    17: "SMPTE ST 428-1",
}
VIDEO_OF: Final[Mapping[str, int]] = {"bt601-525": 6, "bt601-625": 6}  # of BT.709 and all others 1
VIDEO_OF_BT2020: Final[Mapping[int, int]] = {10: 14, 12: 15}  # by bits; at another depth the curve of BT.709
TRANSFER_CODES: Final[Mapping[str, int]] = {"srgb": 13, "pq": 16, "hlg": 18, "light": 8}

# SMPTE ST 268-1, transfer and colorimetric, by OpenImageIO's words for codes 1 to 13.
DPX_TRANSFERS: Final[Mapping[str, str]] = {
    "Printing density": "density",
    "Linear": "light",
    "Unspecified video": "video",
    "SMPTE 274M": "video",
    "ITU-R 709-4": "video",
    "ITU-R 601-5 system B or G": "video",
    "ITU-R 601-5 system M": "video",
    "NTSC composite video": "video",
    "PAL composite video": "video",
}
DPX_PRIMARIES: Final[Mapping[str, str]] = {
    "SMPTE 274M": "bt709",
    "ITU-R 709-4": "bt709",
    "ITU-R 601-5 system B or G": "bt601-625",
    "ITU-R 601-5 system M": "bt601-525",
    "NTSC composite video": "bt601-525",
    "PAL composite video": "bt601-625",
}
DPX_UNSTATED: Final = ("", "User defined", "Undefined")
DPX_ADX: Final = "ADX"

LINES_525: Final = (480, 486)


def usual_primaries(matrix: str, height: int) -> str:
    """Return the primaries that go with a matrix, or with rgb, in a picture of `height` lines."""
    if matrix == "bt601":
        return "bt601-525" if height in LINES_525 else "bt601-625"
    return WORKING_PRIMARIES if matrix == "rgb" else matrix
