"""A folder of numbered stills being written: DPX or TIFF, in exact codes."""

import errno
import os
import shutil
import zlib
from contextlib import suppress
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

import av
import numpy as np
import soundfile
from numpy.typing import NDArray

from lamphouse.graph.media.codes.encode_planes import Blank
from lamphouse.graph.media.codes.raster import Shape
from lamphouse.graph.media.codes.sums import SecondSums
from lamphouse.graph.media.master.blanks import StillBlanks
from lamphouse.graph.media.master.dpx_out import DpxHeader, write_dpx
from lamphouse.graph.media.master.encoder import open_encoder
from lamphouse.graph.media.master.encoder_options import check_encoders
from lamphouse.graph.media.sound.write import integers
from lamphouse.graph.reel.records import Delivery
from lamphouse.graph.time.timecode import frame_of_timecode, timecode
from lamphouse.nodes.errors import BadInput

DIGITS: Final = 6  # of the number of a still; more where there are more stills
DEPTHS: Final = {"dpx": (10, 16), "tiff": (16,)}
SUFFIXES: Final = {"dpx": "dpx", "tiff": "tif"}
TIFF_PIXELS: Final = "rgb48le"
WAVE: Final = {"pcm_s16le": ("PCM_16", 16), "pcm_s24le": ("PCM_24", 24)}


class StillsOut:
    """Numbered stills from `first` on in the folder `part`, named after `stem`; sound lies beside them."""

    def __init__(
        self,
        part: Path,
        stem: str,
        delivery: Delivery,
        shape: Shape,
        *,
        rate: Fraction,
        timecode: str,
        first: int = 0,
    ):
        self._part, self._stem, self._delivery = part, stem, delivery
        self._rate, self._start = rate, frame_of_timecode(timecode, rate) - first
        self._shape = shape
        self._blanks = StillBlanks(delivery, shape)
        self._coding = self._blanks.coding
        _check(delivery, self._coding.layout.bits)
        self._tiff = None
        if delivery.container == "tiff":
            self._tiff = _tiff_encoder(delivery, rate, shape)
        self._frames = first
        self._sound: Any = None
        self.sound: SecondSums | None = None

    def blank(self) -> Blank:
        """Return the next picture, to be filled."""
        return self._blanks.blank()

    def sum_of(self, filled: Blank) -> str:
        """Return the checksum of a picture, as it must come back."""
        return self._blanks.sum_of(filled)

    def write(self, filled: Blank) -> int:
        """Write the next picture as one file and return the CRC-32 of that."""
        codes = filled.holder
        path = self._part / still_name(self._stem, self._frames, self._delivery.container)
        if self._tiff is None:
            write_dpx(path, codes, self._header())
        else:
            path.write_bytes(_tiff_file(self._tiff, codes))
        self._frames += 1
        return zlib.crc32(path.read_bytes())

    def copy(self, data: bytes) -> None:
        """Pass over the next picture, whose file an earlier pass made; of that there is no `data`."""
        assert not data
        self._frames += 1

    def continues(self, extradata: bytes | None) -> bool:
        """Say whether stills of an earlier pass may stand beside these, as each does by itself."""
        return extradata is None

    def _header(self) -> DpxHeader:
        address = timecode(self._start + self._frames, self._rate)
        bits, numbers = self._coding.layout.bits, self._coding.numbers
        aspect, colour = self._shape.pixel_aspect, self._coding.colour
        return DpxHeader(bits, numbers, self._rate, aspect, self._frames, address, colour)

    def write_sound(self, block: NDArray[np.float32]) -> None:
        """Write the next samples (channels, n), full scale 1, into the WAV file beside the stills."""
        sound = self._delivery.sound
        assert sound is not None
        subtype, bits = WAVE[sound.codec]
        try:
            if self._sound is None:
                path = self._part / f"{self._stem}.wav"
                self._sound = soundfile.SoundFile(path, "w", sound.rate, len(block), subtype)
                self.sound = SecondSums(sound.rate)
            self._write_samples(integers(block, bits))
        except soundfile.LibsndfileError as error:
            full = shutil.disk_usage(self._part).free < block.nbytes
            raise OSError(errno.ENOSPC if full else errno.EIO, str(error)) from error

    def _write_samples(self, samples: NDArray[Any]) -> None:
        assert self.sound is not None
        self.sound.add(samples)
        self._sound.write(samples)

    def finish(self) -> None:
        """Close the sound and force every file to disk."""
        if self._sound is not None:
            self._sound.close()
        for path in self._part.iterdir():
            with path.open("rb") as file:
                os.fsync(file.fileno())

    def close(self) -> None:
        """Let the sound go, as far as it is written."""
        if self._sound is not None:
            with suppress(soundfile.LibsndfileError):
                self._sound.close()


def still_name(stem: str, number: int, container: str) -> str:
    """Return the file name of still `number`, from 0, such as reel.000000.dpx."""
    return f"{stem}.{number:0{DIGITS}}.{SUFFIXES[container]}"


def _check(delivery: Delivery, bits: int) -> None:
    kind = delivery.container
    if delivery.matrix != "rgb" or bits not in DEPTHS[kind]:
        depths = " or ".join(map(str, DEPTHS[kind]))
        raise BadInput(
            f"{kind} stills are R'G'B' of {depths} bits, not {delivery.pixel_format}; change the delivery."
        )
    check_encoders(delivery)


def _tiff_encoder(delivery: Delivery, rate: Fraction, shape: Shape) -> Any:
    coder = av.CodecContext.create("tiff", "w")
    open_encoder(coder, delivery, rate, shape)
    return coder


def _tiff_file(coder: Any, codes: NDArray[np.uint16]) -> bytes:
    _, height, width = codes.shape
    frame = av.VideoFrame(width, height, TIFF_PIXELS)
    lines = np.frombuffer(memoryview(frame.planes[0]), "<u2").reshape(height, -1)
    pixels = lines[:, : 3 * width].reshape(height, width, 3)
    pixels[:] = np.moveaxis(codes, 0, -1)
    return b"".join(bytes(packet) for packet in coder.encode(frame))
