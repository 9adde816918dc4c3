"""A pass in plain words, a row for each thing that a person decides by."""

from __future__ import annotations

from typing import Final

from lamphouse.graph.media.codes.raster import raster_of
from lamphouse.graph.media.master.colour import coding_of
from lamphouse.graph.media.master.containers import CONTAINERS
from lamphouse.graph.media.master.decoded import LOSSLESS
from lamphouse.graph.reel.records import Delivery
from lamphouse.graph.reel.span import LEAD_IN
from lamphouse.graph.time.rate import rate_words
from lamphouse.graph.transfer.lead_in import SCANNINGS
from lamphouse.graph.transfer.plan import Plan

CONTAINER_WORDS: Final = {
    "matroska": "Matroska",
    "mov": "MOV",
    "mp4": "MP4",
    "mxf": "MXF",
    "tiff": "a folder of TIFF stills",
    "dpx": "a folder of DPX stills",
}
CODEC_WORDS: Final = {
    "ffv1": "FFV1",
    "prores_ks": "ProRes",
    "dnxhd": "DNxHD or DNxHR",
    "libx264": "H.264",
    "libx265": "H.265",
    "v210": "v210",
    "tiff": "TIFF",
    "dpx": "DPX",
}
SOUND_WORDS: Final = {
    "pcm_s24le": "PCM of 24 bits",
    "pcm_s16le": "PCM of 16 bits",
    "aac": "AAC",
    "flac": "FLAC",
}
LEVEL_WORDS: Final = {
    "full": "every code of its range",
    "nominal": "0 to 100 per cent and nothing beyond",
    "r103": "-5 to 105 per cent, EBU R 103, and nothing beyond",
}
CADENCE_WORDS: Final = {
    "run": "a film frame in each",
    "repeat": "film at its own speed, frames shown again",
    "2:2": "each film frame in two pictures",
    "2:3": "film frames in two and three pictures by turns",
}

PRIMARIES_WORDS: Final = {
    "bt709": "BT.709",
    "bt2020": "BT.2020",
    "bt601-525": "BT.601 of 525 lines",
    "bt601-625": "BT.601 of 625 lines",
    "p3-d65": "P3-D65",
}

Row = tuple[str, str]


def described(pass_: Plan) -> tuple[Row, ...]:
    """Return what a pass makes, as names and sentences."""
    delivery, span = pass_.delivery, pass_.span
    length = f"{span.frames} frames, {span.timecode(0)} to {span.timecode(span.frames - 1)}"
    head = [
        f"{words} {getattr(delivery, name)}" for name, words in LEAD_IN.items() if getattr(delivery, name)
    ]
    rows = [
        ("file", f"{_container(delivery)}, {_codec(delivery)}"),
        ("codes", _codes(pass_)),
        ("levels", LEVEL_WORDS[delivery.levels]),
        ("time", _time(pass_)),
        ("length", length),
        ("head", f"{', '.join(head)} frames" if head else "nothing before the film"),
        (
            "tail",
            f"black {delivery.black_after} frames" if delivery.black_after else "nothing after the film",
        ),
        ("sound", _sound(pass_)),
    ]
    return (*rows, *([("drawn in", ", ".join(delivery.burn_in))] if delivery.burn_in else []))


def _container(delivery: Delivery) -> str:
    suffix = CONTAINERS[delivery.container].suffix
    return CONTAINER_WORDS[delivery.container] + (f" ({suffix})" if suffix else "")


def _codec(delivery: Delivery) -> str:
    name = CODEC_WORDS.get(delivery.codec, delivery.codec)
    return f"{name}, every code comes back" if delivery.codec in LOSSLESS else f"{name}, which loses codes"


def _codes(pass_: Plan) -> str:
    delivery, scan = pass_.delivery, pass_.reel.scan
    _, height = raster_of(delivery, scan.width, scan.height)
    coding = coding_of(delivery, height)
    over, down = coding.layout.subsampling
    kind = {(1, 1): "4:4:4", (2, 1): "4:2:2", (2, 2): "4:2:0"}[over, down]
    kind = "R'G'B'" if coding.matrix is None else f"Y'CbCr {kind}"
    return f"{coding.layout.bits} bits, {kind}, {delivery.range} range, {_colour(pass_)}"


def _colour(pass_: Plan) -> str:
    colour = pass_.colour
    transfer = "BT.1886" if colour.transfer == "video" else colour.transfer
    return f"{PRIMARIES_WORDS.get(colour.primaries, colour.primaries)}, {transfer}"


def _time(pass_: Plan) -> str:
    delivery, span = pass_.delivery, pass_.span
    cadence = CADENCE_WORDS[delivery.cadence]
    return f"{rate_words(span.rate)} frames a second, {SCANNINGS[delivery.scanning]}, {cadence}"


def _sound(pass_: Plan) -> str:
    sound = pass_.delivery.sound
    if sound is None or pass_.reel.sound is None:
        return "none"
    kept = ", its pitch kept" if sound.pitch == "kept" else ""
    name = SOUND_WORDS.get(sound.codec, sound.codec)
    return f"{name} at {sound.rate} Hz{kept}"
