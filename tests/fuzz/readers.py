"""Every reader as a function of a path: it reads as the program does, and goes on as far as a pass."""

import warnings
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import numpy as np
from handed import HANDED

from lamphouse.graph.cues.settings import Controls
from lamphouse.graph.cues.words import beginning_text, settings_text
from lamphouse.graph.edits.cues import find_cue, set_cue
from lamphouse.graph.edits.marks import put_mark
from lamphouse.graph.edits.start import Start, start_reel
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.grade.patches import parse_patch
from lamphouse.graph.handover.cdl_file import read_cdl
from lamphouse.graph.media.codes.raster import Shape, aspect_of, raster_of
from lamphouse.graph.media.master.delivery import asked_of, delivery
from lamphouse.graph.media.master.encoder import encoder_options
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.graph.media.sound.read import open_anywhere, open_sound
from lamphouse.graph.reel.counters import counter
from lamphouse.graph.reel.limits import pixel_aspect
from lamphouse.graph.reel.records import Mark, Reel
from lamphouse.graph.reel.store import decode, encode, load
from lamphouse.graph.reel_files.opened import OpenedReel, open_reel
from lamphouse.graph.time.rate import parse_rate
from lamphouse.graph.time.timecode import frame_of_timecode
from lamphouse.graph.transfer.made_of import made_of
from lamphouse.graph.transfer.plan import plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput, CheckFailed
from lamphouse.nodes.luts.load import load_lut
from lamphouse.nodes.parameter import KINDS
from lamphouse.viewer.sticks.mapping import decode_stick_map, encode_stick_map
from lamphouse.viewer.sticks.shelf import Shelf

TYPED = {
    "a place": lambda text, reel: counter(reel).find(text),
    "an end": lambda text, reel: counter(reel).find(text, end=True),
    "timecode": lambda text, reel: frame_of_timecode(text, Fraction(30000, 1001)),
    "a rate": lambda text, reel: parse_rate(text),
    "an aspect": lambda text, reel: pixel_aspect(text),
    "a patch": lambda text, reel: parse_patch(text).of(np.zeros((3, 9, 9))),
    "a cue": lambda text, reel: find_cue(reel, text),
    "a delivery": lambda text, reel: delivery(text, reel.deliveries),
    **{
        f"{name} of a node": lambda text, reel, kind=kind: kind.parse(text, "x")
        for name, kind in KINDS.items()
    },
}


def read_reel(path: Path) -> None:
    """A reel is loaded, shown, graded at each cue, its deliveries are checked, and it is saved again."""
    use(load(path), path)


def use(reel: Reel, path: Path) -> None:
    encode(reel)
    decode(encode(reel), "again")
    counters = counter(reel)
    for cue in reel.cues:
        counters.readings(cue.frame)
        f"{beginning_text(cue)} {settings_text(cue)}".encode()
    for mark in reel.marks:
        counters.readings(mark.frame)
    opened = OpenedReel(path, reel, Catalogue())
    opened.scan_path.exists()
    for name in reel.deliveries:
        _tried(lambda name=name: _deliver(name, opened))
    with Grade(opened, threads=1) as grade:
        for frame in {0, reel.scan.frames - 1, *(cue.frame for cue in reel.cues)}:
            grade.program(frame)


def _deliver(name: str, opened: OpenedReel) -> None:
    reel = opened.reel
    found = delivery(name, reel.deliveries)
    asked_of(found)
    size = raster_of(found, reel.scan.width, reel.scan.height)
    encoder_options(found, Shape(*size, aspect_of(found, pixel_aspect(reel.scan.pixel_aspect))))
    with Grade(opened, threads=1) as grade:
        made_of(plan(opened, found, 0, reel.scan.frames), grade)


def read_delivery(path: Path) -> None:
    """A delivery is read from a file and made ready for an encoder."""
    found = delivery(str(path), {})
    asked_of(found)
    encoder_options(found, Shape(*raster_of(found, 48, 32), Fraction(1)))


def read_sticks(path: Path) -> None:
    """A mapping is read and written again; a shelf with it in its folder never stands in the way."""
    settings = path.parent / "settings"
    (settings / "sticks").mkdir(parents=True, exist_ok=True)
    for name in ("sticks.json", "sticks/mine.json"):
        (settings / name).write_bytes(path.read_bytes())
    for trouble in Shelf(settings).troubles:
        assert "\n" not in trouble
    encode_stick_map(decode_stick_map(path.read_bytes(), str(path)))


def read_lut(path: Path) -> None:
    """A LUT is read, and colours go through it."""
    lut = load_lut(str(path))
    with np.errstate(all="ignore"):
        lut(np.linspace(-0.1, 1.1, 30).reshape(3, 10))


def read_scan(path: Path) -> None:
    """A reel is started on a scan, and its first, last and middle frames are read."""
    started = start_reel(path.with_suffix(".reel"), Start(path, rate="24"))
    encode(started.reel)
    with open_scan(path) as scan:
        for frame in (0, scan.frames - 1, scan.frames // 2):
            _tried(lambda frame=frame: scan.read(frame))


def read_sound(path: Path) -> None:
    """Sound is read as a pass reads it, and as the desk does, there and back."""
    with open_sound(path, 48000) as sound:
        for start in (-100, 1000, 0, 10**9):
            _tried(lambda start=start: sound.block(start, start + 500))
    with open_anywhere(path) as sound:
        for start in (2000, 0, 10**9):
            _tried(lambda start=start: sound.block(start, start + 500))


def _tried(read: Callable[[], object]) -> None:
    try:
        read()
    except BadInput as error:
        if not str(error) or "\n" in str(error):
            raise ValueError(f"no sentence: {error}") from error


def read_part(path: Path) -> None:
    """A pass goes on with what is left under a master's working name."""
    reel_file = path.parent / "pass.reel"
    opened = open_reel(reel_file, Catalogue())
    master = path.with_name("master.mkv")
    pass_ = plan(opened, delivery("tv", opened.reel.deliveries), 0, opened.reel.scan.frames)
    path.replace(path.with_name(f"left{path.suffix}"))
    path.with_name("left.part").replace(master.with_name("master.mkv.part"))
    path.with_name("left.pass").replace(master.with_name("master.mkv.part.pass"))
    transfer(pass_, master, lambda *_: None, resume=True)


def read_typed(path: Path) -> None:
    """What a person types: places, rates, patches, values of every kind, names, settings of a cue."""
    text = path.read_bytes().decode("utf-8", errors="surrogateescape")
    reel = load(path.parent / "pass.reel")
    controls = Controls(reel.chain, Catalogue())
    for read in TYPED.values():
        _tried(lambda read=read: read(text, reel))
    for key in controls.neutral:
        _tried(lambda key=key: set_cue(reel, 1, controls, {key: controls.parse(key, text)}, name=text))
    _tried(lambda: put_mark(reel, Mark(frame=1, name=text)))


# By reader, the endings of the samples that it reads.
READERS: dict[Callable[[Path], object], tuple[str, ...]] = {
    read_reel: (".reel",),
    read_delivery: ("delivery.json",),
    read_sticks: ("sticks.json",),
    read_lut: (".cube", ".clf"),
    read_cdl: ("a.ccc",),
    read_scan: (".mkv", ".mp4", ".mov", ".avi", ".ts", ".mxf", ".png", ".tif", ".dpx", ".exr"),
    read_sound: (".wav", ".flac", ".aiff", ".caf", ".ogg", ".mkv", ".mp4", ".avi"),
    read_part: (".part", ".pass"),
    read_typed: (".txt",),
    **HANDED,
}


def outcome(read: Callable[[Path], object], path: Path) -> str:
    """Return `read`, or the sentence; an error that is none gives its kind and its place."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            read(path)
    except (BadInput, CheckFailed) as error:
        said = str(error)
        return "sentence" if said and "\n" not in said else f"FAULT no sentence: {said!r}"
    except BaseException as error:
        return f"FAULT {type(error).__name__}: {str(error)[:100]!r} at {_place(error)}"
    return "read"


def _place(error: BaseException) -> str:
    import traceback

    frames = [frame for frame in traceback.extract_tb(error.__traceback__) if "/tests/" not in frame.filename]
    ours = [frame for frame in frames if "site-packages" not in frame.filename]
    return f"{Path(ours[-1].filename).name}:{ours[-1].lineno}" if ours else "the tests"
