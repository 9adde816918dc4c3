"""What a master states of itself, in words: for its record, and to see that nothing of it changed."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

import OpenImageIO as oiio
import soundfile

from lamphouse.graph.media.master.stills_back import still_files, wave_of
from lamphouse.graph.media.scan.opening import open_media
from lamphouse.nodes.regular_file import utf8_name

# Attributes of a still that say where it lies in time, not what the sequence is, but for the first one's.
_STILL: Final = ("PixelAspectRatio", "dpx:Transfer", "dpx:Colorimetric", "dpx:FrameRate", "smpte:TimeCode")


def facts_of(master: Path) -> dict[str, str]:
    """Return what a movie or the first of numbered stills, and the sound beside them, say in their headers.

    Raises what PyAV raises, OSError, and BadInput where there are no stills.
    """
    return _stills(master) if master.is_dir() else _movie(master)


def _movie(path: Path) -> dict[str, str]:
    with open_media(path) as container:
        facts = {"the container": container.format.name, "the duration": f"{container.duration} us"}
        for kind, streams in (("picture", container.streams.video), ("sound", container.streams.audio)):
            for number, stream in enumerate(streams, 1):
                what = kind if number == 1 else f"{kind} {number}"
                facts |= _stream(what, stream)
        return facts | _tags("the file", container.metadata)


def _stream(what: str, stream: Any) -> dict[str, str]:
    coder = stream.codec_context
    if coder is None:
        return {f"the {what}'s coding": "unknown"}
    facts = {f"the {what}'s coding": coder.name, f"the {what}'s clock": str(stream.time_base)}
    if what.startswith("picture"):
        facts |= {
            "the pixel format": str(coder.pix_fmt),
            "the raster": f"{coder.width}x{coder.height}",
            "the pixel aspect": str(stream.sample_aspect_ratio or "not stated"),
            "the rate": str(stream.average_rate),
            "the primaries, transfer, matrix and range": " ".join(
                str(int(code))
                for code in (coder.color_primaries, coder.color_trc, coder.colorspace, coder.color_range)
            ),
        }
    else:
        facts[f"the {what}'s form"] = f"{coder.rate} Hz, {coder.layout.name}, {coder.format.name}"
    return facts | _tags(f"the {what}", stream.metadata)


def _tags(what: str, tags: dict[str, str]) -> dict[str, str]:
    return {
        "the timecode" if name.lower() == "timecode" else f"{what}'s tag {name}": value
        for name, value in tags.items()
    }


def _stills(folder: Path) -> dict[str, str]:
    first = next(iter(still_files(folder).values()))
    file: Any = oiio.ImageInput.open(utf8_name(first))
    if not file:
        raise OSError(oiio.geterror())
    spec = file.spec()
    facts = {
        "the container": file.format_name(),
        "the raster": f"{spec.width}x{spec.height}",
        "the depth": str(spec.get_int_attribute("oiio:BitsPerSample", 16)),
    }
    facts |= {_word(a.name): str(a.value) for a in spec.extra_attribs if a.name in _STILL}
    file.close()
    if (wave := wave_of(folder)) is not None:
        sound = soundfile.info(wave)
        facts["the sound's form"] = f"{sound.samplerate} Hz, {sound.channels} channels, {sound.subtype}"
    return facts


def _word(name: str) -> str:
    return "the timecode" if name == "smpte:TimeCode" else f"the tag {name}"
