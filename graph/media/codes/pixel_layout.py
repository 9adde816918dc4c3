"""Where each component of a pixel format lies in its planes.

A named layout is read by strided views, so that no library repacks, and perhaps
converts, a picture on its way in.
"""

import re
from dataclasses import dataclass
from typing import Literal

from av import VideoFormat

from lamphouse.nodes.errors import BadInput

Family = Literal["ycbcr", "rgb", "grey"]

PACKED_YCBCR = {"yuyv422": "yuyv", "uyvy422": "uyvy", "yvyu422": "yvyu", "y210le": "yuyv", "y212le": "yuyv"}
PACKED_RGB = re.compile(r"([rgbax0]{3,4})(24|32|48|64)?(le|be)?")


@dataclass(frozen=True, slots=True)
class Part:
    """One component: its plane, its first sample in a line and the step to the next, in samples."""

    plane: int
    first: int = 0
    step: int = 1


@dataclass(frozen=True, slots=True)
class Layout:
    """Components in the order R'G'B', Y'CbCr, or grey alone; codes lie `shift` bits up in their samples."""

    family: Family
    bits: int
    shift: int
    dtype: str
    parts: tuple[Part, ...]
    subsampling: tuple[int, int] = (1, 1)  # luma samples per chroma sample, across and down
    alpha: bool = False


def layout_of(form: VideoFormat) -> Layout:
    """Return the layout of a pixel format. Raises BadInput for one that is not read here."""
    parts = None if _is_foreign(form) else _packed(form) or _semi_planar(form) or _planar(form)
    if parts is None:
        raise BadInput(
            f"The pixel format {form.name} is not read; convert the scan to planar Y'CbCr or R'G'B' "
            "of 8 to 16 bits, for instance yuv422p10le or gbrp16le."
        )
    bits = form.components[0].bits
    shift = _shift(form.name, bits)
    dtype = "u1" if bits + shift <= 8 else ">u2" if form.is_big_endian else "<u2"
    alpha = any(component.is_alpha for component in form.components)
    subsampling = 64 // form.chroma_width(64), 64 // form.chroma_height(64)
    return Layout(_family(form), bits, shift, dtype, parts, subsampling, alpha)


def _is_foreign(form: VideoFormat) -> bool:
    """Say whether a format holds no integer codes of 8 to 16 bits: palette, mosaic, packed bits, floats."""
    bits = {component.bits for component in form.components if not component.is_alpha}
    floats = re.search(r"f(16|32)(le|be)?$", form.name)
    odd = form.has_palette or form.is_bit_stream or form.is_bayer or floats
    return bool(odd) or len(bits) != 1 or not 8 <= bits.pop() <= 16


def _family(form: VideoFormat) -> Family:
    if form.is_rgb:
        return "rgb"
    return "grey" if sum(not component.is_alpha for component in form.components) == 1 else "ycbcr"


def _shift(name: str, bits: int) -> int:
    high = "msb" in name or re.match(r"p[024]1|y21", name)
    return 16 - bits if high else 0


def _packed(form: VideoFormat) -> tuple[Part, ...] | None:
    if order := PACKED_YCBCR.get(form.name):
        return Part(0, order.index("y"), 2), Part(0, order.index("u"), 4), Part(0, order.index("v"), 4)
    match = PACKED_RGB.fullmatch(form.name)
    if match and form.components[0].bits in (8, 16):
        order = match[1]
        return tuple(Part(0, order.index(letter), len(order)) for letter in "rgb")
    return None


def _semi_planar(form: VideoFormat) -> tuple[Part, ...] | None:
    if form.is_rgb or [component.plane for component in form.components] != [0, 1, 1]:
        return None
    swapped = form.name in ("nv21", "nv42")
    return Part(0), Part(1, int(swapped), 2), Part(1, int(not swapped), 2)


def _planar(form: VideoFormat) -> tuple[Part, ...] | None:
    planes = [component.plane for component in form.components]
    if form.name.startswith("ya"):
        return (Part(0, 0, 2),)
    if len(set(planes)) != len(planes) or form.name.startswith("xyz"):
        return None
    return tuple(Part(component.plane) for component in form.components if not component.is_alpha)
