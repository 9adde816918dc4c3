"""Encoders as deliveries want them, opened before a pass begins, so that a wrong wish costs no time.

What is said here also serves whoever makes single frames anew for a finished master: the
same settings give the same bytes.
"""

from collections.abc import Mapping
from fractions import Fraction
from typing import Any, Final

import av

from lamphouse.graph.media.codes.encode_planes import plane_coding
from lamphouse.graph.media.codes.raster import Shape
from lamphouse.graph.media.master.colour import colour_tags
from lamphouse.graph.media.master.encoder_options import check_encoders
from lamphouse.graph.reel.records import Delivery
from lamphouse.nodes.errors import BadInput

# Slices across and down that FFmpeg's FFV1 encoder cuts a picture into: from memory, and tried.
SLICES: Final = tuple((across, down) for down in range(1, 32) for across in range(down, 2 * down))
# Of FFmpeg: both fields in the order in which they are stored and shown.
FIELD_ORDERS: Final[Mapping[str, str]] = {
    "progressive": "progressive",
    "top-first": "tt",
    "bottom-first": "bb",
}
# What FFmpeg's encoder of DNxHD and DNxHR takes: from memory of SMPTE ST 2019-1, and tried.
DNX: Final = (
    "its profiles dnxhr_... want 256x120 or more, and dnxhd wants 1920x1080 or 1280x720 at one of its own "
    "bit rates, as b=185M"
)
RANGE_TAGS: Final[Mapping[str, int]] = {"video": 1, "full": 2}


def open_encoder(coder: Any, delivery: Delivery, rate: Fraction, shape: Shape) -> None:
    """Set and open a picture encoder. Frames carry their number as time stamp, in units of 1 / `rate`.

    Raises BadInput where the encoder refuses what the delivery asks for, or knows no such option.
    """
    coder.width, coder.height, coder.pix_fmt = shape.width, shape.height, delivery.pixel_format
    coder.framerate, coder.time_base = rate, 1 / rate
    coder.sample_aspect_ratio = shape.pixel_aspect
    coder.color_primaries, coder.color_trc, coder.colorspace = colour_tags(delivery, shape.height)
    coder.color_range = RANGE_TAGS[delivery.range]
    if delivery.codec == "ffv1":
        coder.thread_type = "SLICE"
    if delivery.codec == "libx265" and delivery.container in ("mov", "mp4"):
        coder.codec_tag = (
            "hvc1"  # its headers lie in the container alone: the only form that many players take
        )
    coder.options = encoder_options(delivery, shape)
    try:
        coder.open()
    except (av.error.FFmpegError, ValueError) as error:
        raise BadInput(
            f"{delivery.codec} cannot write {delivery.pixel_format} at {shape.width}x{shape.height} "
            f"with options {delivery.options} ({_reason(error, delivery, shape)}); change the delivery."
        ) from error
    if unknown := ", ".join(coder.options):
        raise BadInput(f"{delivery.codec} has no option {unknown}; take it out of the delivery.")


# FFmpeg's words for which field is first, of the filter that marks frames so.
FIELD_MARKS: Final[Mapping[str, str]] = {"top-first": "tff", "bottom-first": "bff"}
MARKED: Final = ("prores_ks", "dnxhd")  # encoders that code fields apart where the frame says which is first


class FieldMarks:
    """Marks frames as two fields for encoders that ask the frame: PyAV has no other way to than a filter."""

    def __init__(self, scanning: str, shape: Shape, pixel_format: str, rate: Fraction) -> None:
        self._graph = av.filter.Graph()
        source = self._graph.add_buffer(
            width=shape.width,
            height=shape.height,
            format=av.VideoFormat(pixel_format),
            time_base=1 / rate,
        )
        mark = self._graph.add("setfield", f"mode={FIELD_MARKS[scanning]}")
        sink = self._graph.add("buffersink")
        source.link_to(mark)
        mark.link_to(sink)
        self._graph.configure()

    def of(self, frame: Any) -> Any:
        """Return the frame, of the same memory, marked."""
        self._graph.push(frame)
        return self._graph.pull()


def field_marks(delivery: Delivery, rate: Fraction, shape: Shape) -> FieldMarks | None:
    """Return what marks the frames of a delivery; None where they need no marks."""
    if delivery.scanning == "progressive" or delivery.codec not in MARKED:
        return None
    return FieldMarks(delivery.scanning, shape, delivery.pixel_format, rate)


def tag_frame(frame: Any, coder: Any) -> None:
    """Have a frame carry the colour tags of its encoder; that of ProRes writes those of the frame."""
    frame.color_primaries, frame.color_trc = coder.color_primaries, coder.color_trc
    frame.colorspace, frame.color_range = coder.colorspace, coder.color_range


def _reason(error: Exception, delivery: Delivery, shape: Shape) -> str:
    across, down = _subsampling(delivery)
    if shape.width % across or shape.height % down:
        return f"it wants whole samples of chroma, each {across} wide and {down} high"
    if delivery.codec == "dnxhd":
        return DNX
    return getattr(error, "strerror", None) or str(error)


def _subsampling(delivery: Delivery) -> tuple[int, int]:
    return plane_coding(delivery.pixel_format, delivery.matrix, delivery.range).layout.subsampling


def encoder_options(delivery: Delivery, shape: Shape) -> dict[str, str]:
    """Return the encoder's options: what archives want, then the delivery's own.

    FFV1 (RFC 9043): level 3, every frame by itself, a checksum in every slice. TIFF: uncompressed.
    Raises BadInput for an option that a delivery may not set.
    """
    check_encoders(delivery)
    options = {"field_order": FIELD_ORDERS[delivery.scanning], "flags": "+bitexact"}
    if delivery.scanning != "progressive" and delivery.codec in MARKED:
        options["flags"] += "+ildct"
    if delivery.codec == "tiff":
        options["compression_algo"] = "raw"
    if delivery.codec == "libx265":
        options["flags"] += "+cgop"  # groups of pictures that stand alone, as those of H.264 do: see inserts
        options["x265-params"] = "log-level=error"  # it writes to the terminal by itself
    if delivery.codec == "ffv1":
        slices = slices_of(shape.width, shape.height, _subsampling(delivery))
        options |= {"level": "3", "g": "1", "slicecrc": "1", "slices": str(slices)}
    return options | delivery.options


def slices_of(width: int, height: int, subsampling: tuple[int, int]) -> int:
    """Return slices of an FFV1 frame: 4, 16 from HD on, 24 from 2K on (RFC 9043 asks for at least 4).

    Or the next number in which the encoder cuts a raster that ends within a sample of chroma.
    """
    wanted = 24 if width >= 2048 or height > 1080 else 16 if width * height >= 1280 * 720 else 4
    across, down = subsampling
    numbers = (n * m for n, m in SLICES if _is_cut(width, n, across) and _is_cut(height, m, down))
    return min(number for number in numbers if number >= wanted)


def _is_cut(size: int, slices: int, chroma: int) -> bool:
    """Say whether FFmpeg cuts a line so: where it ends within a sample of chroma its last slice has to."""
    last = size - size * (slices - 1) // slices
    return size % chroma == 0 or last % chroma != 0
