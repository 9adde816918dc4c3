"""A numbered sequence of stills as a scan, in the codes that the files hold.

Libraries offer to convert colour on reading; a scan must come in as it was made.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

import numpy as np
import OpenImageIO as oiio
from numpy.typing import NDArray

from lamphouse.graph.media.codes.decode_planes import Coded, Coding
from lamphouse.graph.media.codes.pixel_layout import Layout
from lamphouse.graph.media.scan.scan import Scan
from lamphouse.graph.media.scan.stated import stated_by_still
from lamphouse.graph.media.scan.still_sequence import find_sequence, spans
from lamphouse.graph.progress import Step, plain_progress
from lamphouse.graph.reel.limits import LEAST_ASPECT, MOST_ASPECT, check_raster
from lamphouse.graph.time.measured_rate import exact_rate
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.regular_file import check_regular, utf8_name

# SMPTE ST 12-1 time address: digit masks of hours, minutes, seconds, frames; bit 6 is the drop-frame flag.
DIGITS: Final = (0x3F, 0x7F, 0x7F, 0x3F)
DROP_FRAME: Final = 0x40
UNDEFINED: Final = 0xFFFFFFFF
WHITE_IS_ZERO: Final = 0  # TIFF 6.0
LOOKED_AT: Final = 100  # headers between two words on how far it has come


class StillScan(Scan):
    """Numbered stills. Integers are divided by 2^bits - 1, or lie in video range if so told; floats stay."""

    def __init__(self, path: Path, *, matrix: str | None = None, range_: str | None = None):
        self.path = path
        self._range = range_ or "full"
        self.sequence = find_sequence(path)
        self.frames = self.sequence.frames
        file = _open(self.sequence.files[0])
        spec = file.spec()
        file.close()
        check_raster(spec.width, spec.height, str(self.sequence.files[0]))
        self.width, self.height, self.bits = spec.width, spec.height, _bits(spec)
        self.rate = _rate(spec)
        self.pixel_aspect = _pixel_aspect(spec)
        with _in_text(self.sequence.files[0]):
            self.stated = stated_by_still(self.sequence.files[0], spec)
        self.timecode = still_timecode(spec)
        self.has_sound, self.is_stills = False, True
        notes = ["Stills hold no Y'CbCr: the matrix that was given has no effect."] if matrix else []
        self.notes = (*_gap_notes(self), *_header_notes(self.sequence.files[0], spec), *notes)

    def read_coded(self, frame: int) -> Coded | NDArray[np.float32]:
        """Return a frame: see `Scan.read_coded`."""
        self.check_frame(frame)
        path = self.sequence.file_of(frame)
        if frame not in self.sequence.files:
            raise BadInput(
                f"Frame {frame} is missing: there is no {path}; put the file back, or scan it again."
            )
        file = _open(path)
        try:
            with _in_text(path):
                spec = file.spec()
                self._check_size(path, spec)
                pixels = file.read_image(spec.format)
                error = file.geterror()
        finally:
            file.close()
        if pixels is None or error:
            raise BadInput(
                f"Frame {frame}, {path}, is cut off or damaged ({_one_line(error)}); scan it again."
            )
        return _planar(pixels, _channels(spec, path), spec, self._range)

    def check_all(self, step: Step | None = None) -> tuple[str, ...]:
        """Look at the header of every still: see `Scan.check_all`."""
        step = step or plain_progress(f"Looking at the stills of {self.path}")
        unread: list[int] = []
        for done, (frame, path) in enumerate(self.sequence.files.items()):
            try:
                file = _open(path)
            except BadInput:
                unread.append(frame)
                continue
            self._check_size(path, file.spec())
            file.close()
            if done and done % LOOKED_AT == 0:
                step(done, len(self.sequence.files))
        return tuple(_unread_notes(self, unread))

    def close(self) -> None:
        """Do nothing: no file stays open between reads."""

    def _check_size(self, path: Path, spec: Any) -> None:
        if (spec.width, spec.height) != (self.width, self.height):
            raise BadInput(
                f"{path} is {spec.width}x{spec.height} but {self.sequence.files[0].name}, the first of its "
                f"sequence, is {self.width}x{self.height}; give stills of one size."
            )


def _open(path: Path) -> Any:
    name = _name_of(path)
    wishes = oiio.ImageSpec()
    wishes.attribute("oiio:UnassociatedAlpha", 1)
    if path.suffix.lower() not in (".jpg", ".jpeg", ".jp2", ".j2c"):  # theirs is a coding, not a colour
        wishes.attribute("oiio:RawColor", 1)
    with _in_text(path):
        file = oiio.ImageInput.open(name, wishes)
        if file is None:
            raise BadInput(
                f"{path} cannot be read ({_one_line(oiio.geterror())}); it may be cut off, or "
                "not be a picture."
            )
        _channels(file.spec(), path)
        return file


def _name_of(path: Path) -> str:
    try:
        check_regular(path)
        return utf8_name(path)
    except OSError as error:
        raise BadInput(f"{path} cannot be read ({error.strerror}); give a picture.") from error


@contextmanager
def _in_text(path: Path) -> Iterator[None]:
    """The library hands over names of channels, and of what is wrong, that can be any bytes."""
    try:
        yield
    except UnicodeDecodeError as error:
        raise BadInput(f"{path} is damaged, or holds names that are not UTF-8; scan it again.") from error


def _one_line(error: str) -> str:
    return error.strip().splitlines()[0] if error.strip() else "no reason given"


def _bits(spec: Any) -> int:
    stated: int = spec.get_int_attribute("oiio:BitsPerSample")
    size = spec.format.size() * 8
    return stated if spec.format in (oiio.UINT8, oiio.UINT16) and 0 < stated < size else int(size)


def _channels(spec: Any, path: Path) -> list[int]:
    """Return which stored channels are R', G' and B': grey stands for all three."""
    names = [name.upper() for name in spec.channelnames]
    if {"R", "G", "B"} <= set(names):
        return [names.index(name) for name in "RGB"]
    if [name for name in names if name != "A"] == names[:1]:
        return [0, 0, 0]
    raise BadInput(f"{path} holds channels {', '.join(spec.channelnames)}; give R'G'B' or grey stills.")


def _planar(pixels: NDArray[Any], channels: list[int], spec: Any, range_: str) -> Coded | NDArray[np.float32]:
    planes = [pixels[..., channel] for channel in channels]
    if pixels.dtype.kind == "f":
        return np.stack([plane.astype(np.float32) for plane in planes])
    bits = _bits(spec)
    if pixels.dtype.itemsize > 1 and _is_white_zero(
        spec
    ):  # OpenImageIO turns 8 bits over itself, and only those
        np.invert(pixels, out=pixels)
    filled = pixels.dtype.itemsize * 8 - bits  # fewer bits arrive spread over the sample, code on top
    if filled:
        np.right_shift(pixels, filled, out=pixels)
    layout = Layout("rgb", bits, 0, pixels.dtype.str, ())
    return Coded(tuple(planes), layout, Coding(None, range_))


def _is_white_zero(spec: Any) -> bool:
    """Say whether code 0 stands for white: PhotometricInterpretation of TIFF 6.0, section 8."""
    return bool(spec.get_int_attribute("tiff:PhotometricInterpretation", -1) == WHITE_IS_ZERO)


def _rate(spec: Any) -> Fraction | None:
    stated = spec.getattribute("FramesPerSecond")
    if isinstance(stated, tuple):
        return exact_rate(Fraction(*stated) if stated[1] else None)
    for name in ("dpx:FrameRate", "dpx:TemporalFrameRate"):
        if rate := exact_rate(spec.get_float_attribute(name)):
            return rate
    return None


def _pixel_aspect(spec: Any) -> Fraction:
    stated = spec.get_float_attribute("PixelAspectRatio", 1.0)
    return Fraction(stated).limit_denominator(1001) if LEAST_ASPECT <= stated <= MOST_ASPECT else Fraction(1)


def still_timecode(spec: Any) -> str | None:
    """Return the timecode that the header of a still states, None where it states none."""
    words = spec.getattribute("smpte:TimeCode")
    return timecode_text(words[0]) if isinstance(words, tuple) else None


def timecode_text(word: int) -> str | None:
    """Return a binary-coded time address as HH:MM:SS:FF, `;` before drop frames; None where it states none.

    Source: SMPTE ST 12-1, as DPX and OpenEXR store it: hours in the top byte.
    """
    if word == UNDEFINED:
        return None
    pairs = [word >> shift & mask for shift, mask in zip((24, 16, 8, 0), DIGITS, strict=True)]
    if any(pair & 0xF > 9 for pair in pairs):
        return None
    hours, minutes, seconds, frames = (f"{pair:02x}" for pair in pairs)
    mark = ";" if word & DROP_FRAME else ":"
    return f"{hours}:{minutes}:{seconds}{mark}{frames}"


def _gap_notes(scan: StillScan) -> list[str]:
    gaps = scan.sequence.gaps()
    if not gaps:
        return []
    count = sum(map(len, gaps))
    first = scan.sequence.file_of(gaps[0][0]).name
    verb = "frame is" if count == 1 else "frames are"
    return [f"{count} {verb} missing from the numbering: {spans(gaps)} (the first is {first})."]


def _unread_notes(scan: StillScan, frames: list[int]) -> list[str]:
    if not frames:
        return []
    first = scan.sequence.file_of(frames[0]).name
    plural = "s" if len(frames) > 1 else ""
    which = f"frame{plural} {spans(range(frame, frame + 1) for frame in frames)}"
    return [f"{len(frames)} of the stills cannot be read: {which} (the first is {first})."]


def _header_notes(path: Path, spec: Any) -> list[str]:
    notes = []
    names = [name.upper() for name in spec.channelnames]
    if _channels(spec, path) == [0, 0, 0]:
        notes.append("The stills are grey; all three channels are the same.")
    if "A" in names:
        notes.append("The stills carry alpha, which is left out.")
    if spec.format not in (oiio.UINT8, oiio.UINT16) and _is_white_zero(spec):
        notes.append(f"The header of {path.name} calls 0 white, which is not acted upon in floating point.")
    if spec.get_int_attribute("Orientation", 1) != 1:
        notes.append(f"The header of {path.name} asks for another orientation; pictures are read as stored.")
    if (spec.x, spec.y, spec.width, spec.height) != (
        spec.full_x,
        spec.full_y,
        spec.full_width,
        spec.full_height,
    ):
        notes.append(f"{path.name} stores a part of its display window; that part is the picture.")
    return notes
