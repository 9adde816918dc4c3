"""The one place where a file of pictures or sound is opened for reading.

A reel can come from anywhere and name anything as its scan. So a scan is a regular file in a container of
pictures or sound, and never a list or a page that names others, a device, or an address in the net.
"""

import errno
from pathlib import Path
from typing import Any, Final

import av
from av.container import InputContainer

from lamphouse.nodes.regular_file import check_regular

# PyAV 18 raises on tags that are not UTF-8 unless told otherwise; PyAV 19 knows no such argument.
_OLD: Final = int(av.__version__.split(".")[0]) < 19
_TAGS: Final[dict[str, Any]] = {"metadata_errors": "replace"} if _OLD else {}

# By FFmpeg's names: containers of movies, streams of pictures without one, sound.
FORMATS: Final = (
    *("matroska", "mov", "mxf", "avi", "nut", "mpegts", "mpeg", "asf", "flv", "ogg", "gxf", "lxf", "ivf"),
    *("h264", "hevc", "vvc", "av1", "obu", "m4v", "mpegvideo", "mjpeg", "vc1", "dirac", "dnxhd", "dv"),
    *("yuv4mpegpipe", "wav", "w64", "aiff", "caf", "flac", "mp3", "aac", "ac3", "eac3", "dts", "truehd"),
    *("au", "voc", "wv", "tta", "ape", "amr"),
)
_GUARD: Final = {"protocol_whitelist": "file", "format_whitelist": ",".join(FORMATS)}


# Codecs whose decoder, on threads over the slices of a picture, hands out parts of it unfinished: tried.
_TOO_EARLY: Final = ("v210",)


def set_threads(coder: Any, kind: str) -> None:
    """Have a decoder use threads over slices ("SLICE") or of any kind ("AUTO"), where it is right then."""
    coder.thread_type = kind
    if kind == "SLICE" and coder.name in _TOO_EARLY:
        coder.thread_count = 1


def open_stream(file: Any) -> InputContainer:
    """Open what `file.read` gives, from its first byte on; no more is asked for than the first pictures.

    Raises what PyAV raises.
    """
    # Otherwise seconds of pictures are read to guess a rate, which whoever writes them knows.
    options = {**_GUARD, "fpsprobesize": "0"}
    container: InputContainer = av.open(file, "r", options=options, **_TAGS)
    return container


def open_media(path: Path) -> InputContainer:
    """Open the file at `path` to read its streams. Raises what PyAV and the system raise.

    Raises OSError, with what is wrong, for what is no regular file or in no container that is read here.
    """
    check_regular(path)
    try:
        container: InputContainer = av.open(f"file:{path}", "r", options=dict(_GUARD), **_TAGS)
    except av.error.ArgumentError as error:
        raise OSError(errno.EINVAL, "it holds no movie or sound in a form that is read here") from error
    return container
