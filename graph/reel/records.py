"""The reel: one document that holds everything but the pictures."""

from itertools import pairwise
from typing import Annotated, Any, Final, Literal

from msgspec import Meta
from msgspec.structs import force_setattr

from lamphouse.graph.files.record import Record
from lamphouse.graph.reel.film_shapes import film_shape
from lamphouse.graph.reel.limits import (
    WORDS,
    Count,
    Frame,
    Length,
    Side,
    SoundRate,
    check_raster,
    exact_seconds,
    pixel_aspect,
)
from lamphouse.graph.time.cadence import Kind
from lamphouse.graph.time.rate import parse_rate
from lamphouse.nodes.colour_encoding import WORKING_PRIMARIES, ColourEncoding
from lamphouse.nodes.errors import BadInput

# What a scan's codes are, of `nodes.colour_encoding.TRANSFERS`; `video` is called bt1886 in a delivery.
Encoding = Literal[
    "density", "light", "video", "srgb", "adx10", "adx16", "pq", "hlg", "gamma-2.2", "gamma-2.6", "gamma-2.8"
]
Primaries = Literal["bt709", "bt601-525", "bt601-625", "bt2020", "p3-d65"]
DeliveredTransfer = Literal["bt1886", "srgb", "gamma-2.6", "density"]
Beginning = Literal["cut", "transition"]
MarkKind = Literal["place", "soft", "check"]
Scanning = Literal["progressive", "top-first", "bottom-first"]
Counting = Literal["drop", "non-drop"]
Pitch = Literal["follows", "kept"]
BarsForm = Literal["75/0/75/0", "100/0/75/0", "100/0/100/0"]
Reading = Literal["timecode", "footage", "frame", "reel"]
ToneLevel = Annotated[int, Meta(ge=-60, le=0)]
Levels = Literal["nominal", "r103", "full"]
Words = Annotated[str, Meta(max_length=WORDS)]
Key = tuple[Frame, Annotated[float, Meta(ge=-1e6, le=1e6)]]  # far beyond the range of any parameter


class About(Record, frozen=True, kw_only=True):
    """What its client calls a reel, as Dublin Core has it: a title, identifiers, whose it is, a note."""

    title: Words = ""
    identifiers: tuple[Words, ...] = ()
    client: Words = ""
    note: Words = ""


UNSAID: Final = About()


class Fixity(Record, frozen=True, kw_only=True):
    """What tells a file from another: its size in bytes, when it was changed, the SHA-256 of parts of it."""

    size: Annotated[int, Meta(ge=0)]
    changed: str  # ISO 8601, universal time
    parts: str


class ScanRef(Record, frozen=True, kw_only=True):
    """The picture source: a movie file, or a folder of numbered stills."""

    path: str
    encoding: Encoding = "video"
    primaries: Primaries | None = None  # None: those of BT.709
    frames: Length
    width: Side
    height: Side
    pixel_aspect: str = "1"
    matrix: str | None = None  # overrides the file's tag: bt601, bt709, bt2020
    range: str | None = None  # overrides the file's tag: video, full
    fixity: Fixity | None = None  # as it was when the reel was made or pointed at it

    def __post_init__(self) -> None:
        check_raster(self.width, self.height, "The scan")
        pixel_aspect(self.pixel_aspect)

    @property
    def aspect(self) -> float:
        """The width of its picture over the height, as it is meant to be seen."""
        return float(pixel_aspect(self.pixel_aspect) * self.width / self.height)

    @property
    def colour(self) -> ColourEncoding:
        """What its codes mean."""
        return ColourEncoding(self.encoding, self.primaries or WORKING_PRIMARIES)


class SoundRef(Record, frozen=True, kw_only=True):
    """Sound beside the picture. Its first sample plays with scan frame `starts_at`, or `offset` later.

    A sound belongs to film frames by the rate at which it was recorded beside them.
    """

    path: str
    starts_at: Frame = 0
    offset: str = "0"  # seconds of the sound as recorded, exact, such as 1/80
    rate: str | None = None  # film frames a second at which it was recorded; None: the reel's

    def __post_init__(self) -> None:
        exact_seconds(self.offset)
        if self.rate is not None:
            parse_rate(self.rate)


class NodeRef(Record, frozen=True, kw_only=True):
    """One node of the chain. `kind` names its declaration; `inputs` name nodes, or `scan`."""

    name: str
    kind: str
    inputs: tuple[str, ...]


class ChainRef(Record, frozen=True, kw_only=True):
    """Nodes and wires. `output` names the node whose picture leaves."""

    nodes: tuple[NodeRef, ...]
    output: str


def _as_read(value: Any) -> Any:
    """Return a value as JSON gives it back."""
    return [_as_read(part) for part in value] if isinstance(value, tuple | list) else value


class Cue(Record, frozen=True, kw_only=True):
    """A named frame that holds settings; it begins with a cut, or with a transition that ends on it."""

    frame: Frame
    name: str = ""
    begins: Beginning = "cut"
    length: Frame = 0  # of the transition: frames before `frame`
    ease: str | tuple[tuple[float, ...], ...] = (
        "soft"  # even, soft, or points of a drawn curve, or with slopes
    )
    settings: dict[str, Any] = {}

    def __post_init__(self) -> None:
        """Hold rows of numbers as the file gives them back, so that a reel equals itself once it is read."""
        if any(isinstance(value, tuple) for value in self.settings.values()):
            force_setattr(self, "settings", {key: _as_read(value) for key, value in self.settings.items()})


class Mark(Record, frozen=True, kw_only=True):
    """A named place or stretch of the film, `frames` long.

    A `place` is to be found again; `soft` is a shot out of focus, which no grade can mend and which the
    report lists; `check` is to be looked at again. `note` is a sentence on it, such as what was measured;
    `place` the part of the scan's picture that it is about: left, top, width and height in shares of it.
    """

    frame: Frame
    frames: Frame = 1
    name: str = ""
    kind: MarkKind = "place"
    note: str = ""
    place: tuple[float, float, float, float] | None = None


class Refused(Record, frozen=True, kw_only=True):
    """Something that the survey proposed and a person did not want: its kind, what it was, and where."""

    kind: str
    what: str
    frame: Frame
    frames: Frame = 1


class Track(Record, frozen=True, kw_only=True):
    """A parameter that moves from frame to frame over a stretch of film, `frames` long, whatever cues set.

    Its keys, of a frame and an amount, are added to what is set there, or multiply it where the parameter
    travels by `log`; between two the amount passes evenly. Switched off it stays and moves nothing.
    """

    parameter: str  # such as exposure.stops
    frame: Frame
    frames: Length
    keys: Annotated[tuple[Key, ...], Meta(min_length=1)]
    name: str = ""
    is_on: bool = True

    def __post_init__(self) -> None:
        if any(later[0] <= earlier[0] for earlier, later in pairwise(self.keys)):
            raise BadInput(f"The keys of the track at frame {self.frame} must rise from frame to frame.")

    @property
    def stop(self) -> int:
        """The frame after its last."""
        return self.frame + self.frames


class Sound(Record, frozen=True, kw_only=True):
    """How sound is delivered; where the film runs at another speed, its pitch follows or is kept."""

    codec: str = "pcm_s24le"
    rate: SoundRate = 48000
    pitch: Pitch = "follows"


class Delivery(Record, frozen=True, kw_only=True):
    """What a master is made of. Frame counts are in frames of the master."""

    sentence: str = ""
    container: Literal["matroska", "mov", "mp4", "mxf", "tiff", "dpx"]
    codec: str
    pixel_format: str
    width: Side | None = None  # None: the raster of the scan
    height: Side | None = None
    pixel_aspect: str = "1"
    rate: str | None = None  # frames a second; None: the reel's
    scanning: Scanning = "progressive"  # or which field comes first
    cadence: Kind = "run"  # how film frames become those of the master
    counting: Counting | None = None  # of its timecode; None: the reel's
    matrix: Literal["bt601", "bt709", "bt2020", "rgb"] = "bt709"
    range: Literal["video", "full"] = "video"
    primaries: Primaries | None = None  # None: those that go with the matrix and the lines
    transfer: DeliveredTransfer | None = None  # None: bt1886
    levels: Levels = "full"  # beyond which nothing is written: 0..100 %, EBU R 103's -5..105 %, or the codes
    resize: str = "lanczos3"
    shape: str = (
        "fit"  # of the film's picture: all of it, as much as is seen in `fill`, or a part such as 14:9
    )
    options: dict[str, str] = {}
    sound: Sound | None = None
    bars: Count = 0
    bars_form: BarsForm = "75/0/75/0"  # per cent of white and black, then most and least of the coloured bars
    tone_level: ToneLevel = -18  # dB below full scale
    tone_ident: Literal["none", "left"] = "none"  # whether the left channel is marked by short breaks
    slate: Count = 0
    countdown: Count = 0
    black_before: Count = 0
    black_after: Count = 0
    burn_in: tuple[Reading, ...] = ()  # drawn into every frame of film


class Reel(Record, frozen=True, kw_only=True):
    """One reel of film: its scan, marks, chain, cues and deliveries."""

    record: str = "reel/2"
    about: About = UNSAID
    scan: ScanRef
    sound: SoundRef | None = None
    gauge: str = "35mm"
    shape: str | None = None  # of its film's picture, a name or a ratio; None: all of the scan
    rate: str = "24"
    head_mark: Frame = 0  # the frame at which the counters read zero
    start: str = "10:00:00:00"  # record timecode of the head mark
    counting: Counting = "drop"  # of timecode, at rates that have both
    chain: ChainRef
    cues: tuple[Cue, ...] = ()
    marks: tuple[Mark, ...] = ()
    tracks: tuple[Track, ...] = ()
    deliveries: dict[str, Delivery] = {}
    refused: tuple[Refused, ...] = ()  # of what the survey proposed

    def __post_init__(self) -> None:
        if self.shape is not None:
            film_shape(self.shape)
