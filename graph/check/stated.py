"""What the file of a movie states of itself, as numbers and names: nothing of it is decoded."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

import av

from lamphouse.graph.media.scan.movie_facts import duration_of, timecode_of
from lamphouse.graph.media.scan.opening import open_media
from lamphouse.graph.time.measured_rate import exact_rate
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.one_line import one_line

# FFmpeg's AVFieldOrder: numbers from memory, tried with its own encoders.
FIELDS: Final = {1: "progressive", 2: "top-first", 3: "bottom-first", 4: "top-first", 5: "bottom-first"}


@dataclass(frozen=True, slots=True)
class Track:
    """Sound as a file states it; `seconds` is None where it does not say."""

    codec: str
    rate: int
    channels: int
    seconds: Fraction | None


@dataclass(frozen=True, slots=True)
class Stated:
    """A movie as it states itself. `colour` are code points of ITU-T H.273: primaries, transfer, matrix.

    `range` is 1 for video and 2 for full, 0 where it is not said; `scanning` is empty where it is not said.
    """

    container: str
    codec: str
    pixel_format: str
    raster: tuple[int, int]
    aspect: Fraction | None
    rate: Fraction | None
    colour: tuple[int, int, int]
    range: int
    scanning: str
    timecode: str | None
    tracks: tuple[Track, ...]

    @property
    def is_ycbcr(self) -> bool:
        """Whether its pictures are Y'CbCr."""
        return not self.is_rgb and len(self._format.components) > 2

    @property
    def is_rgb(self) -> bool:
        """Whether its pictures are R'G'B'."""
        return self._format.is_rgb

    @property
    def _format(self) -> av.VideoFormat:
        return av.VideoFormat(self.pixel_format or "gray", 16, 16)


def stated(path: Path) -> Stated:
    """Return what a movie states. Raises BadInput where it cannot be read or holds no pictures."""
    try:
        with open_media(path) as container:
            return _stated(container, path)
    except (av.FFmpegError, OSError) as error:
        reason = one_line(getattr(error, "strerror", None) or str(error))
        raise BadInput(f"{path} cannot be read ({reason}); give a finished master.") from error


def _stated(container: Any, path: Path) -> Stated:
    stream = next((one for one in container.streams.video if one.codec_context is not None), None)
    if stream is None:
        raise BadInput(f"{path} holds no pictures in a coding that is known here; give a finished master.")
    coder, aspect = stream.codec_context, stream.sample_aspect_ratio
    return Stated(
        container=container.format.name,
        codec=coder.codec.canonical_name,
        pixel_format=str(coder.pix_fmt or ""),
        raster=(coder.width, coder.height),
        aspect=Fraction(aspect.numerator, aspect.denominator) if aspect else None,
        rate=exact_rate(stream.average_rate or stream.guessed_rate),
        colour=(int(coder.color_primaries), int(coder.color_trc), int(coder.colorspace)),
        range=int(coder.color_range),
        scanning=FIELDS.get(int(coder.field_order), ""),
        timecode=timecode_of(container),
        tracks=tuple(_track(one) for one in container.streams.audio if one.codec_context is not None),
    )


def _track(stream: Any) -> Track:
    coder = stream.codec_context
    return Track(coder.codec.canonical_name, coder.rate, coder.layout.nb_channels, duration_of(stream))
