"""What a movie says about itself, what it leaves unsaid, and what is assumed instead."""

import re
from fractions import Fraction
from itertools import pairwise
from typing import Any, Final

from av import VideoFrame
from av.container import InputContainer
from av.video.stream import VideoStream

from lamphouse.graph.media.codes.chroma import CENTRE, LEFT, TOP_LEFT, Siting
from lamphouse.graph.media.codes.colour_tags import UNSTATED
from lamphouse.graph.media.codes.decode_planes import Coding
from lamphouse.graph.media.codes.pixel_layout import Layout, layout_of
from lamphouse.graph.reel.limits import is_aspect
from lamphouse.graph.time.measured_rate import exact_rate, measured_rate, uneven_frames
from lamphouse.nodes.errors import BadInput

# Code points of ITU-T H.273 MatrixCoefficients; 470BG and 170M are the numbers of BT.601.
MATRICES: Final = {1: "bt709", 5: "bt601", 6: "bt601", 9: "bt2020"}
LASTING: Final = re.compile(r"(\d+):(\d+):(\d+(?:\.\d+)?)")
STATED_RANGES: Final = {1: "video", 2: "full"}
SD: Final = (1024, 576)  # the largest raster that is taken as standard definition

# Where a codec's own document puts chroma when nothing is stated: JPEG and MPEG-1 in the middle,
# 625-line DV on the top left. From memory.
SITINGS: Final = {"mjpeg": CENTRE, "mpeg1video": CENTRE, "dvvideo": TOP_LEFT}


def coding_of(
    frame: VideoFrame, codec: str, matrix: str | None, range_: str | None
) -> tuple[Coding, list[str]]:
    """Return how a movie's codes are meant, from overrides, tags or the usual rule, and notes on the last."""
    layout = layout_of(frame.format)
    notes: list[str] = []
    if layout.alpha:
        notes.append("The frames carry alpha, which is left out.")
    chosen_range = range_ or _stated_range(frame) or _usual_range(layout, notes)
    if layout.family != "ycbcr":
        if matrix:
            notes.append("The frames hold no Y'CbCr: the matrix that was given has no effect.")
        return Coding(None, chosen_range), notes
    chosen = matrix or _stated_matrix(frame) or _usual_matrix(frame, notes)
    return Coding(chosen, chosen_range, _siting(codec, layout)), notes


def _stated_range(frame: VideoFrame) -> str | None:
    full = "full" if frame.format.name.startswith("yuvj") else None
    return STATED_RANGES.get(frame.color_range, full)


def _usual_range(layout: Layout, notes: list[str]) -> str:
    usual = "video" if layout.family == "ycbcr" else "full"
    kind = {"ycbcr": "Y'CbCr", "rgb": "R'G'B'", "grey": "grey"}[layout.family]
    notes.append(
        f"No range tag: taken as {usual} range, as usual for {kind}; --range video or full overrides."
    )
    return usual


def _stated_matrix(frame: VideoFrame) -> str | None:
    code = int(frame.colorspace)
    if code in UNSTATED:
        return None
    if code not in MATRICES:
        raise BadInput(
            f"The movie's matrix tag is {code} (ITU-T H.273), which is not read; "
            "give --matrix bt601, bt709 or bt2020 if you know that one of them is right."
        )
    return MATRICES[code]


def stated_coding(frame: VideoFrame) -> tuple[str, ...]:
    """Return what a movie's tags say of matrix and range, for a person."""
    matrix, range_ = MATRICES.get(int(frame.colorspace)), _stated_range(frame)
    said = (("matrix", matrix), ("range", range_))
    return tuple(f"{what} {value}" for what, value in said if value is not None)


def _usual_matrix(frame: VideoFrame, notes: list[str]) -> str:
    usual = "bt601" if frame.width <= SD[0] and frame.height <= SD[1] else "bt709"
    notes.append(
        f"No matrix tag: taken as {usual} because {frame.width}x{frame.height}; "
        "--matrix bt601, bt709 or bt2020 overrides."
    )
    return usual


def _siting(codec: str, layout: Layout) -> Siting:
    if codec == "dvvideo" and layout.subsampling != (2, 2):
        return LEFT
    return SITINGS.get(codec, LEFT)


def rate_of(stream: VideoStream, stamps: list[int | None]) -> Fraction | None:
    """Return the frame rate: a stated one that stamps bear out, else what they measure; None if uneven."""
    stated = [exact_rate(stream.average_rate), exact_rate(stream.guessed_rate)]
    known = [stamp for stamp in stamps if stamp is not None]
    measured = measured_rate(known, stream.time_base or Fraction(1))
    if measured is None or len(known) < len(stamps) or _backwards(known):
        return stated[1] or stated[0]
    if uneven_frames(known):
        return None
    borne_out = (rate for rate in stated if rate and abs(rate / measured - 1) < Fraction(1, 100))
    return next(borne_out, exact_rate(measured))


def duration_of(stream: Any) -> Fraction | None:
    """Return how many seconds a stream says it lasts, None where it does not."""
    if stream.duration is not None and stream.time_base:
        return Fraction(stream.duration * stream.time_base)
    tags = {key.upper(): value for key, value in stream.metadata.items()}
    # Matroska keeps the length of each stream in a tag, whose name may end in a language.
    text = next((value for key, value in tags.items() if key.split("-")[0] == "DURATION"), "")
    match = LASTING.fullmatch(text)
    return int(match[1]) * 3600 + int(match[2]) * 60 + Fraction(match[3]) if match else None


def _backwards(stamps: list[int]) -> bool:
    """Say whether stamps run backwards: then they tell nothing of time."""
    return any(after <= before for before, after in pairwise(stamps))


def pixel_aspect_of(stream: VideoStream) -> Fraction:
    """Return width : height of a pixel, 1 where it is not stated, or not one that pixels can have."""
    stated = _stated_aspect(stream)
    return stated if stated and is_aspect(stated) else Fraction(1)


def _stated_aspect(stream: VideoStream) -> Fraction | None:
    stated = stream.sample_aspect_ratio  # PyAV 19 has a kind of its own for it
    return Fraction(stated.numerator, stated.denominator) if stated else None


def aspect_notes(stream: VideoStream) -> list[str]:
    """Return a note on a pixel aspect that is stated and not believed."""
    stated = _stated_aspect(stream)
    if not stated or is_aspect(stated):
        return []
    return [
        f"The file states pixels {stated} times as wide as high, which none are; they are taken as square."
    ]


def timecode_of(container: InputContainer) -> str | None:
    """Return the timecode of the first frame, where the container or one of its streams states it."""
    places = [container.metadata, *(stream.metadata for stream in container.streams)]
    # Matroska writes its tags in capitals, MOV and MP4 do not.
    tags = ((key.lower(), value) for place in places for key, value in place.items())
    return next((value for key, value in tags if key == "timecode" and value), None)


def picture_notes(frame: VideoFrame) -> list[str]:
    """Return notes on marks of a picture that are not acted upon."""
    notes = []
    if frame.interlaced_frame:
        notes.append("The frames are marked interlaced; both fields are read as one picture.")
    if frame.rotation:
        notes.append(f"The file asks to be turned by {frame.rotation} degrees; frames are read as stored.")
    return notes


def timing_notes(stamps: list[int | None]) -> list[str]:
    """Return notes on the stamps of the frames, in order: those missing, and uneven steps between them."""
    known = [stamp for stamp in stamps if stamp is not None]
    if len(known) < len(stamps):
        return [f"{len(stamps) - len(known)} of {len(stamps)} frames carry no timestamp."]
    uneven = uneven_frames(known)
    if not uneven or _backwards(known):
        return []
    return [
        f"Variable rate: {len(uneven)} of {len(stamps) - 1} steps between frames are uneven, the first "
        f"before frame {uneven[0]}; frames are taken in order, one by one, whatever their times."
    ]
