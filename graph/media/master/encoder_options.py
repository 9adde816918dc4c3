"""What a delivery may ask for: the encoders that a container takes, their options, and the values of those.

A delivery comes with a reel, and a reel from anywhere. Encoders have options that name files, to write or to
read, and options that hold whole lists of others; so only what is written down here is passed on.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final, NamedTuple

from lamphouse.graph.reel.records import Delivery
from lamphouse.nodes.errors import BadInput, near_names


class Amount(NamedTuple):
    """A plain number, a decimal one too, from `low` to `high`."""

    low: float
    high: float


class Bits(NamedTuple):
    """Bits, or bits a second, up to `high`: 8000000, 8000k or 8M."""

    high: int


Allowed = tuple[str, ...] | range | Amount | Bits

ENCODERS: Final[Mapping[str, tuple[str, ...]]] = {
    "matroska": ("ffv1", "libx264", "libx265", "prores_ks"),
    "mov": ("prores_ks", "dnxhd", "v210", "libx264", "libx265"),
    "mp4": ("libx264", "libx265"),
    "mxf": ("dnxhd", "prores_ks"),
    "tiff": ("tiff",),
    "dpx": ("dpx",),
}
SOUND_ENCODERS: Final[Mapping[str, tuple[str, ...]]] = {
    "matroska": ("pcm_s16le", "pcm_s24le", "flac", "aac"),
    "mov": ("pcm_s16le", "pcm_s24le", "aac"),
    "mp4": ("aac", "flac"),
    "mxf": ("pcm_s16le", "pcm_s24le"),
    "tiff": ("pcm_s16le", "pcm_s24le"),
    "dpx": ("pcm_s16le", "pcm_s24le"),
}

_SWITCH: Final = ("0", "1")
_BITS: Final = Bits(2_000_000_000)
_SPEEDS: Final = (
    "ultrafast",
    "superfast",
    "veryfast",
    "faster",
    "fast",
    "medium",
    "slow",
    "slower",
    "veryslow",
    "placebo",
)
_LEVELS: Final = ("3", "3.1", "3.2", "4", "4.0", "4.1", "4.2", "5", "5.0", "5.1", "5.2", "6", "6.1", "6.2")
_PREDICTED: Final[Mapping[str, Allowed]] = {
    "crf": Amount(0, 51),
    "qp": range(52),
    "b": _BITS,
    "maxrate": _BITS,
    "bufsize": _BITS,
    "preset": _SPEEDS,
    "level": _LEVELS,
    "g": range(1, 601),
    "keyint_min": range(1, 601),
    "bf": range(17),
    "refs": range(1, 17),
    "forced-idr": _SWITCH,
}

# Meanings and values as FFmpeg's own help states them. FFV1 has each picture by itself, for an insert and a
# pass that goes on copy single packets.
OPTIONS: Final[Mapping[str, Mapping[str, Allowed]]] = {
    "ffv1": {
        "level": ("3",),
        "g": ("1",),
        "coder": ("rice", "range_def", "range_tab", "0", "1", "2", "-2"),
        "context": _SWITCH,
        "slices": range(4, 257),
        "slicecrc": _SWITCH,
    },
    "libx264": {
        **_PREDICTED,
        "tune": ("film", "animation", "grain", "stillimage", "psnr", "ssim", "fastdecode", "zerolatency"),
        "profile": ("baseline", "main", "high", "high10", "high422", "high444"),
        "coder": ("cavlc", "cabac", "vlc", "ac"),
        "aq-mode": range(4),
        "aq-strength": Amount(0, 3),
        "rc-lookahead": range(251),
        "sc_threshold": range(101),
        "slices": range(1, 33),
        "nal-hrd": ("none", "vbr", "cbr"),
        "bluray-compat": _SWITCH,
        "aud": _SWITCH,
    },
    "libx265": {
        **_PREDICTED,
        "tune": ("psnr", "ssim", "grain", "fastdecode", "zerolatency", "animation"),
        "profile": ("main", "main10", "main422-10", "main444-8", "main444-10", "main12"),
    },
    "prores_ks": {
        "profile": ("proxy", "lt", "standard", "hq", "4444", "4444xq", *map(str, range(6))),
        "quant_mat": ("auto", "proxy", "lt", "standard", "hq", "default"),
        "bits_per_mb": range(8193),
        "mbs_per_slice": ("1", "2", "4", "8"),
    },
    "dnxhd": {
        "profile": ("dnxhd", "dnxhr_lb", "dnxhr_sq", "dnxhr_hq", "dnxhr_hqx", "dnxhr_444"),
        "b": _BITS,
    },
    "v210": {},
    "tiff": {"compression_algo": ("raw", "packbits", "lzw", "deflate"), "dpi": range(1, 10001)},
    "dpx": {},
}

_FORMS_422: Final = dict.fromkeys(("proxy", "lt", "standard", "hq", *"0123"), ("yuv422p10le",))
_FORMS_444: Final = dict.fromkeys(("4444", "4444xq", *"45"), ("yuv444p10le",))
# The pixel formats that a profile is of, the first line of each where none is asked for. An encoder may take
# others, and writes what its profile does not mean. Alpha is not delivered.
FORMS: Final[Mapping[str, Mapping[str, tuple[str, ...]]]] = {
    "prores_ks": {"auto": ("yuv422p10le", "yuv444p10le"), **_FORMS_422, **_FORMS_444},
    "dnxhd": {
        "dnxhd": ("yuv422p", "yuv422p10le"),
        **dict.fromkeys(("dnxhr_lb", "dnxhr_sq", "dnxhr_hq"), ("yuv422p",)),
        "dnxhr_hqx": ("yuv422p10le",),
        "dnxhr_444": ("yuv444p10le",),
    },
}
VIDEO_RANGE: Final = ("prores_ks", "dnxhd", "v210")  # codings with no place that could say another
MXF_SOUND: Final = 48000  # samples a second, the only number that FFmpeg's writer of MXF has


def check_encoders(delivery: Delivery) -> None:
    """Raise BadInput for an encoder that the container does not take, or an option that is not allowed.

    And for a pixel format or range that the coding has no place for.
    """
    _check_encoder(delivery.codec, delivery.container, ENCODERS, "picture")
    if delivery.sound is not None:
        _check_encoder(delivery.sound.codec, delivery.container, SOUND_ENCODERS, "sound")
    for name, value in delivery.options.items():
        _check_option(delivery.codec, name, value)
    _check_form(delivery)
    if delivery.container == "mxf" and delivery.sound is not None and delivery.sound.rate != MXF_SOUND:
        raise BadInput(f"MXF takes sound at {MXF_SOUND} Hz, not {delivery.sound.rate}.")


def _check_form(delivery: Delivery) -> None:
    codec = delivery.codec
    if codec in VIDEO_RANGE and delivery.range != "video":
        raise BadInput(f"{codec} holds video range, and has no place to say that a picture is of full range.")
    if profiles := FORMS.get(codec):
        profile = delivery.options.get("profile", next(iter(profiles)))
        if delivery.pixel_format not in profiles[profile]:
            wanted = " or ".join(profiles[profile])
            raise BadInput(f"{codec} with profile {profile} is of {wanted}, not {delivery.pixel_format}.")


def _check_encoder(name: str, container: str, known: Mapping[str, tuple[str, ...]], what: str) -> None:
    if name not in known[container]:
        hint = near_names(name, known[container])
        raise BadInput(f"{container} takes no {what} encoder called {name}{hint}.")


def _check_option(codec: str, name: str, value: str) -> None:
    options = OPTIONS[codec]
    if name not in options:
        raise BadInput(f"{codec} has no option {name} that a delivery may set{near_names(name, options)}.")
    if not _allows(options[name], value):
        raise BadInput(f"{codec} takes {_words(options[name])} as {name}, not {value}.")


def _allows(allowed: Allowed, value: str) -> bool:
    match allowed:
        case Amount(low, high):
            return bool(re.fullmatch(r"[0-9]{1,6}(\.[0-9]{1,6})?", value)) and low <= float(value) <= high
        case Bits(high):
            written = re.fullmatch(r"([1-9][0-9]{0,9})([kM]?)", value)
            unit = {"": 1, "k": 1000, "M": 1_000_000}
            return written is not None and int(written[1]) * unit[written[2]] <= high
        case range():
            return bool(re.fullmatch(r"0|[1-9][0-9]{0,5}", value)) and int(value) in allowed
    return value in allowed


def _words(allowed: Allowed) -> str:
    match allowed:
        case Amount(low, high):
            return f"a number from {low:g} to {high:g}"
        case Bits(high):
            return f"bits such as 8000k or 8M, up to {high // 1_000_000}M,"
        case range():
            return f"a whole number from {allowed[0]} to {allowed[-1]}"
    return allowed[0] if len(allowed) == 1 else f"{', '.join(allowed[:-1])} or {allowed[-1]}"
