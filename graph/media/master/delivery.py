"""Deliveries by name: a reel's own, the presets, or a file beside them."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final, get_args

import av
import msgspec

from lamphouse.graph.files.json_document import read_document
from lamphouse.graph.files.record import gather
from lamphouse.graph.media.codes.encode_planes import plane_coding
from lamphouse.graph.media.codes.resample import check_filter
from lamphouse.graph.media.master.colour import check_colour
from lamphouse.graph.media.master.encoder_options import check_encoders
from lamphouse.graph.reel.limits import FIT, check_raster, delivered_shape, pixel_aspect
from lamphouse.graph.reel.presets import preset_names, read_preset
from lamphouse.graph.reel.records import Delivery, Pitch, Scanning
from lamphouse.graph.reel.span import LEAD_IN
from lamphouse.graph.time.cadence import Kind
from lamphouse.graph.time.rate import video_rate
from lamphouse.nodes.errors import BadInput, clause, near_names
from lamphouse.nodes.one_line import one_line
from lamphouse.nodes.regular_file import read_regular

FOLDER: Final = "deliveries"
CHOICES: Final = {"scanning": get_args(Scanning), "cadence": get_args(Kind), "pitch": get_args(Pitch)}
# Codecs whose lines stand by themselves, or that code fields apart, and that say which field is first.
INTERLACED: Final = ("ffv1", "v210", "prores_ks", "dnxhd")


def delivery(name: str, own: Mapping[str, Delivery]) -> Delivery:
    """Return the delivery `name`: one of the reel's `own`, else a preset, else the record in a .json file.

    Raises BadInput, with near names, for an unknown one, for one that contradicts itself or asks an encoder
    for what it may not, and for one of the reel's own that goes by the name of a preset or of a file.
    """
    if name in own:
        _check_own(name)
        return checked(own[name], f"delivery {name} of the reel")
    if is_preset(name):
        return checked(read_preset(FOLDER, name, Delivery), f"delivery {name}")
    if name.endswith(".json"):
        return checked(_read(Path(name)), name)
    raise BadInput(f"There is no delivery called {name}{near_names(name, delivery_names(own))}.")


def is_preset(name: str) -> bool:
    """Say whether a delivery of that name comes with this program, and not with a reel or a file."""
    return name in preset_names(FOLDER)


def as_asked(record: Delivery, what: str, given: Mapping[str, str | None]) -> Delivery:
    """Return `record` at another rate, in other fields, another cadence, shape or pitch of its sound.

    None leaves what it says. Raises BadInput, beginning with `what`, for one that there is not, or that does
    not go with the others.
    """
    wanted: dict[str, object] = {name: value for name, value in given.items() if value is not None}
    for name, words in CHOICES.items():
        if name in wanted and wanted[name] not in words:
            raise BadInput(f"{wanted[name]} is no {name}; give {', '.join(words[:-1])} or {words[-1]}.")
    if (pitch := wanted.pop("pitch", None)) is not None:
        if record.sound is None:
            raise BadInput(f"{what} has no sound, so that it has no pitch; leave --pitch out.")
        wanted["sound"] = msgspec.structs.replace(record.sound, pitch=pitch)
    return checked(msgspec.structs.replace(record, **wanted), what)


def asked_of(record: Delivery) -> str:
    """Return what a delivery asks for, as one line: encoders and their options."""
    options = " ".join(f"{name}={value}" for name, value in record.options.items()) or "no options"
    pitch = ", its pitch kept" if record.sound and record.sound.pitch == "kept" else ""
    sound = f", sound {record.sound.codec} at {record.sound.rate} Hz{pitch}" if record.sound else ""
    rate = f", {record.rate} frames a second" if record.rate else ""
    time = f"{rate}, {record.scanning}" if record.scanning != "progressive" else rate
    cadence = f", film {record.cadence}" if record.cadence != "run" else ""
    shape = f", shape {record.shape}" if record.shape != FIT else ""
    coding = f"{record.codec} in {record.container}, {record.pixel_format}, {options}"
    said = (("primaries", record.primaries), ("transfer", record.transfer))
    colour = "".join(f", {what} {word}" for what, word in said if word)
    return one_line(f"{coding}{colour}{shape}{time}{cadence}{sound}")


def _check_own(name: str) -> None:
    """Raise BadInput where who asks by `name` cannot mean the reel's own delivery: it came with the reel."""
    if is_preset(name) or name.endswith(".json"):
        kind = "a preset" if is_preset(name) else "a file"
        raise BadInput(
            f"The reel brings a delivery of its own called {name}, which is the name of {kind}; "
            f"rename it under deliveries in the reel's file, or take it out."
        )


def delivery_names(own: Mapping[str, Delivery]) -> list[str]:
    """Return the names of the reel's own deliveries, then those of the presets that they leave."""
    return [*own, *(name for name in preset_names(FOLDER) if name not in own)]


def _read(path: Path) -> Delivery:
    try:
        document = read_document(read_regular(path), str(path), "a delivery")
    except OSError as error:
        raise BadInput(
            f"{path} cannot be read ({error.strerror}); give a delivery by name or file."
        ) from error
    try:
        return gather(document, Delivery)
    except BadInput as error:
        raise BadInput(f"{path} is not a delivery: {clause(error)}.") from error


def checked(record: Delivery, what: str) -> Delivery:
    """Return `record` where its parts go together; raise BadInput, beginning with `what`, where not."""
    try:
        _check_names(record)
        _check_raster(record)
        plane_coding(record.pixel_format, record.matrix, record.range)
        check_colour(record)
        check_filter(record.resize)
        _check_time(record)
        for count in (*LEAD_IN, "black_after"):
            _check_positive(count, getattr(record, count), 0)
    except BadInput as error:
        raise BadInput(f"{what}: {clause(error)}.") from error
    return record


def _check_names(record: Delivery) -> None:
    for field in record.other:
        known = [known for known in record.__struct_fields__ if known != "other"]
        raise BadInput(f"A delivery has no {field}{near_names(field, known)}.")
    check_encoders(record)
    formats = [form.name for form in _codec(record.codec).video_formats or ()]
    if formats and record.pixel_format not in formats:
        hint = near_names(record.pixel_format, formats)
        raise BadInput(f"{record.codec} does not take pixel format {record.pixel_format}{hint}.")
    if record.sound is not None:
        _codec(record.sound.codec)
        _check_positive("sound rate", record.sound.rate, 1)


def _codec(name: str) -> Any:
    try:
        return av.Codec(name, "w")
    except ValueError as error:
        raise BadInput(f"PyAV on this machine has no encoder {name}; change the delivery.") from error


def _check_raster(record: Delivery) -> None:
    if (record.width is None) != (record.height is None):
        raise BadInput("The width and height are given together, or neither for the raster of the scan.")
    for side in ("width", "height"):
        if getattr(record, side) is not None:
            _check_positive(side, getattr(record, side), 2)
    delivered_shape(record.shape)
    check_raster(record.width or 2, record.height or 2, "The raster")
    pixel_aspect(record.pixel_aspect)


def _check_time(record: Delivery) -> None:
    if record.rate is not None:
        video_rate(record.rate)
    if record.scanning == "progressive":
        return
    if record.codec not in INTERLACED:
        *some, last = INTERLACED
        raise BadInput(f"Interlaced masters are written in {', '.join(some)} or {last}, not {record.codec}.")
    if record.options.get("profile", "").startswith("dnxhr"):
        raise BadInput("DNxHR is progressive alone; set profile dnxhd, and b as 185M, or choose another.")
    if plane_coding(record.pixel_format, record.matrix, record.range).layout.subsampling[1] > 1:
        raise BadInput(
            "Interlaced masters are written in 4:2:2 or 4:4:4, where each line has its own chroma."
        )


def _check_positive(what: str, value: int, least: int) -> None:
    if value < least:
        raise BadInput(f"The value of {what} is {value}; it must be {least} or more.")
