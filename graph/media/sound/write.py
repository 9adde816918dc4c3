"""Sound on its way into a master: samples made whole numbers by our own rounding."""

from collections.abc import Mapping
from fractions import Fraction
from typing import Any, Final

import av
import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.codes.sums import SecondSums
from lamphouse.graph.reel.records import Sound
from lamphouse.nodes.errors import BadInput

LAYOUTS: Final[Mapping[int, str]] = {1: "mono", 2: "stereo", 6: "5.1", 8: "7.1"}
LOSSLESS_SOUND: Final = ("pcm_s16le", "pcm_s24le", "flac")


class SoundOut:
    """The sound stream of an open output container, counted in samples from 0.

    Raises BadInput for a number of channels or a coding that cannot be written.
    """

    def __init__(self, container: Any, sound: Sound, channels: int):
        if channels not in LAYOUTS:
            raise BadInput(f"Sound of {channels} channels is not delivered; mix it to 1, 2, 6 or 8.")
        try:
            self._stream = container.add_stream(sound.codec, rate=sound.rate)
            self._stream.codec_context.layout = LAYOUTS[channels]
            self._stream.codec_context.open()
        except (av.error.FFmpegError, ValueError) as error:
            raise BadInput(
                f"Sound cannot be written as {sound.codec} at {sound.rate} Hz ({error}); change the delivery."
            ) from error
        self._codec, self._rate, self._channels = sound.codec, sound.rate, channels
        self._samples = 0
        self.sums = SecondSums(sound.rate) if sound.codec in LOSSLESS_SOUND else None

    def encode(self, block: NDArray[np.float32]) -> list[Any]:
        """Return the packets that samples (channels, n), full scale 1, give; later ones may come later."""
        if block.shape[0] != self._channels:
            raise ValueError(f"sound has {self._channels} channels; a block has {block.shape[0]}")
        if not block.shape[1]:
            return []
        samples, form = self._samples_of(block)
        if self.sums is not None:
            self.sums.add(samples.reshape(-1, self._channels))
        frame = av.AudioFrame.from_ndarray(samples, format=form, layout=LAYOUTS[self._channels])
        frame.sample_rate, frame.pts, frame.time_base = self._rate, self._samples, Fraction(1, self._rate)
        self._samples += block.shape[1]
        return list(self._stream.encode(frame))

    def flush(self) -> list[Any]:
        """Return the packets that the encoder still holds."""
        return list(self._stream.encode(None))

    def _samples_of(self, block: NDArray[np.float32]) -> tuple[NDArray[Any], str]:
        form = self._stream.codec_context.format.name
        if form in ("s16", "s32"):
            return integers(block, 16 if form == "s16" else 24).reshape(1, -1), form
        return np.ascontiguousarray(block, np.float32), "fltp"


def integers(block: NDArray[np.float32], bits: int) -> NDArray[Any]:
    """Return samples (channels, n) as integers (n, channels): int16, or 24 bits at the top of int32."""
    scale = 1 << (bits - 1)
    level = np.floor(block.T.astype(np.float64) * scale + 0.5)
    codes = np.fmin(np.fmax(level, -scale), scale - 1).astype(np.int32)  # nan becomes the lowest
    return np.ascontiguousarray(codes.astype(np.int16) if bits == 16 else codes << 8)
