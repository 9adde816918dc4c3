"""R'G'B' to the native planes of a pixel format, by our own numbers.

Libraries offer to convert, but round and site chroma differently between versions; a
master has to be the same bytes next year. So every step here is a single float32
operation in a fixed order: no matrix product, whose sums differ between machines.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final, NamedTuple

import av
import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.codes.chroma import LEFT, half_height, half_width
from lamphouse.graph.media.codes.pixel_layout import Layout, layout_of
from lamphouse.graph.media.codes.ycbcr import LUMA, Codes, codes
from lamphouse.nodes.colour_encoding import WORKING, ColourEncoding
from lamphouse.nodes.errors import BadInput

Plane = NDArray[Any]
Signal = NDArray[np.float32]

BAND: Final = 64  # rows at a time, even: what one step writes is still in the cache for the next
SUBSAMPLINGS: Final = ((1, 1), (2, 1), (2, 2))  # 4:4:4, 4:2:2, 4:2:0
SITING: Final = LEFT  # of chroma in every master


@dataclass(frozen=True, slots=True)
class PlaneCoding:
    """How R'G'B' becomes codes: the layout of the planes, the luma matrix (None: R'G'B'), the range.

    `colour` is what that R'G'B' means: `Grade` converts to it, and what writes codes takes it as it comes.
    `levels` are those that a delivery keeps to: see `levels.py`.
    """

    layout: Layout
    matrix: str | None
    range_: str
    colour: ColourEncoding = WORKING
    levels: str = "full"

    @property
    def numbers(self) -> Codes:
        """Where the codes lie."""
        return codes(self.layout.bits, self.range_)


def plane_coding(
    pixel_format: str, matrix: str, range_: str, colour: ColourEncoding = WORKING
) -> PlaneCoding:
    """Return the coding of a pixel format such as yuv422p10le or gbrp16le; `matrix` is rgb for R'G'B'.

    Raises BadInput for a format that no master is written in, and for a matrix that does not go with it.
    """
    layout = layout_of(_format(pixel_format))
    is_rgb = layout.family == "rgb"
    plain = not (layout.alpha or layout.shift or layout.family == "grey")
    if not plain or layout.subsampling not in SUBSAMPLINGS:
        raise BadInput(
            f"No master is written in pixel format {pixel_format}; use R'G'B' or Y'CbCr 4:4:4, 4:2:2 or "
            "4:2:0 without alpha, such as gbrp16le or yuv422p10le."
        )
    if is_rgb != (matrix == "rgb"):
        right = "rgb" if is_rgb else "bt709, bt601 or bt2020"
        raise BadInput(
            f"The pixel format {pixel_format} does not go with matrix {matrix}; set matrix {right}."
        )
    return PlaneCoding(layout, None if is_rgb else matrix, range_, colour)


def _format(name: str) -> av.VideoFormat:
    try:
        return av.VideoFormat(name, 16, 16)
    except ValueError as error:
        raise BadInput(f"{name} is not a pixel format; use one such as yuv422p10le or gbrp16le.") from error


class Cut(NamedTuple):
    """Pixels of a picture that were cut off at the lower end of what can be written, and at the upper."""

    below: int = 0
    above: int = 0


NOTHING: Final = Cut()


@dataclass(frozen=True, slots=True)
class Blank:
    """A picture of a master before anything is written in it: its component planes, and what holds them.

    `cut` is what of it was cut, once it is filled.
    """

    planes: Sequence[Plane]
    coding: PlaneCoding
    holder: Any
    cut: Cut = NOTHING

    def part(self, rows: slice, columns: slice) -> list[Plane]:
        """Return the component planes of a part that lies on whole chroma samples, all around it black."""
        height, width = self.planes[0].shape
        if (rows, columns) != (slice(0, height), slice(0, width)):
            self.blacken()
        over, down = self.coding.layout.subsampling
        steps = ((1, 1), (over, down), (over, down))
        return [
            plane[rows.start // y : -(-rows.stop // y), columns.start // x : -(-columns.stop // x)]
            for plane, (x, y) in zip(self.planes, steps, strict=True)
        ]

    def blacken(self) -> None:
        """Make all of it black."""
        numbers, is_rgb = self.coding.numbers, self.coding.matrix is None
        for index, plane in enumerate(self.planes):
            plane[:] = numbers.luma_zero if is_rgb or index == 0 else numbers.chroma_zero


def blank_frame(width: int, height: int, pixel_format: str, coding: PlaneCoding) -> Blank:
    """Return a frame of a movie with nothing in it yet."""
    frame = av.VideoFrame(width, height, pixel_format)
    return Blank(component_planes(frame, coding.layout), coding, frame)


def to_frame(picture: Signal, pixel_format: str, coding: PlaneCoding) -> av.VideoFrame:
    """Return R'G'B' (3, height, width) as a frame of `pixel_format`, in native codes."""
    _, height, width = picture.shape
    blank = blank_frame(width, height, pixel_format, coding)
    encode_into(picture, blank.planes, coding)
    frame: av.VideoFrame = blank.holder
    return frame


def component_planes(frame: av.VideoFrame, layout: Layout) -> list[Plane]:
    """Return R', G', B' or Y', Cb, Cr as views of the frame's own memory, in that order."""
    views = []
    for part, component in zip(layout.parts, frame.format.components, strict=False):
        plane = frame.planes[part.plane]
        samples = np.frombuffer(plane, layout.dtype)  # type: ignore[call-overload]
        lines = samples.reshape(-1, plane.line_size // samples.itemsize)
        views.append(lines[: component.height, part.first :: part.step][:, : component.width])
    return views


def encode_into(picture: Signal, planes: Sequence[Plane], coding: PlaneCoding) -> None:
    """Write the codes of R'G'B' (3, height, width) into three component planes.

    code = Floor(zero + span * signal + 0.5) (ITU-R BT.709-6 clause 3.4), held within what may be written
    (section 4, in video range); nan becomes the lowest code. Chroma at half width lies on every other luma
    column, from the first; at half height it is the mean of two rows: see `chroma`.
    """
    if coding.matrix is None:
        for band in _bands(picture.shape[1]):
            for signal, plane in zip(picture[:, band], planes, strict=True):
                quantise(signal, coding.numbers.luma_zero, coding.numbers.luma_span, coding, plane[band])
        return
    for band in _bands(picture.shape[1]):
        _encode_ycbcr(picture[:, band], band, planes, coding)


def _bands(height: int) -> Iterator[slice]:
    for start in range(0, height, BAND):
        yield slice(start, min(start + BAND, height))


def _encode_ycbcr(picture: Signal, band: slice, planes: Sequence[Plane], coding: PlaneCoding) -> None:
    assert coding.matrix is not None
    across, down = coding.layout.subsampling
    numbers, weights = coding.numbers, LUMA[coding.matrix]
    luma = luma_of(picture, weights)
    quantise(luma, numbers.luma_zero, numbers.luma_span, coding, planes[0][band])
    rows = slice(band.start // down, -(-band.stop // down))
    for plane, channel, span in zip(planes[1:], (2, 0), chroma_spans(coding), strict=True):
        chroma = picture[channel] - luma
        if across == 2:
            chroma = half_width(chroma)
        if down == 2:
            chroma = half_height(chroma)
        quantise(chroma, numbers.chroma_zero, span, coding, plane[rows])


def chroma_spans(coding: PlaneCoding) -> tuple[float, float]:
    """Return the codes of Cb and of Cr for a difference B' - Y', R' - Y' of one."""
    assert coding.matrix is not None
    red, _, blue = LUMA[coding.matrix]
    return coding.numbers.chroma_span / (2 * (1 - blue)), coding.numbers.chroma_span / (2 * (1 - red))


def luma_of(picture: Signal, weights: tuple[float, float, float]) -> Signal:
    """Return the luma of R'G'B' (3, h, w), added up in order."""
    luma: Signal = picture[0] * np.float32(weights[0])
    term = picture[1] * np.float32(weights[1])
    luma += term
    np.multiply(picture[2], np.float32(weights[2]), out=term)
    luma += term
    return luma


def quantise(signal: Signal, zero: float, span: float, coding: PlaneCoding, out: Plane) -> None:
    """Write Floor(zero + span * signal + 0.5), held within what may be written; nan becomes the lowest."""
    level = signal * np.float32(span)
    level += np.float32(zero + 0.5)
    # fmax and not maximum: it passes over nan.
    np.fmax(level, np.float32(coding.numbers.lowest), out=level)
    np.fmin(level, np.float32(coding.numbers.highest), out=level)
    np.copyto(out, level, casting="unsafe")  # positive, so that cutting off is Floor
