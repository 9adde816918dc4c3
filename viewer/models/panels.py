"""The panels' own state: zoom, what is open, what is being typed or held. It is not saved and not undone."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final, Literal

from lamphouse.graph.reel.records import Delivery
from lamphouse.viewer.models.chosen import CueRows
from lamphouse.viewer.models.copying import Copying
from lamphouse.viewer.models.drags import Drag, Nudge
from lamphouse.viewer.models.focus import Focus
from lamphouse.viewer.models.keys import KeyBook, KeyPage
from lamphouse.viewer.models.leaving_files import Menu
from lamphouse.viewer.models.loupe import LoupeView
from lamphouse.viewer.models.matching import Matching
from lamphouse.viewer.models.preferences import Preferred
from lamphouse.viewer.models.proposals import Proposals
from lamphouse.viewer.models.recording import Recording
from lamphouse.viewer.models.recovery import LeftOver
from lamphouse.viewer.models.screens import Screens
from lamphouse.viewer.models.seen import OtherPicture
from lamphouse.viewer.models.tracks import TracksView
from lamphouse.viewer.models.transport import Transport
from lamphouse.viewer.sticks.page import SticksPage

End = tuple[str, int]
Page = Literal["grade", "record"]
NODE_OUTPUT: Final = -1


@dataclass(frozen=True, slots=True)
class Area:
    """Where the whole frame lies in its part of the window, in pixels from the part's top left."""

    left: float
    top: float
    width: float
    height: float


@dataclass(slots=True)
class PictureView:
    """The picture's part of the window: its size in pixels, and how the frame lies in it."""

    size: tuple[int, int] = (1, 1)
    at: tuple[float, float] | None = None  # where it begins in the window; None where that shows none
    zoom: float = 0.0  # pixels of the window for one of the scan; 0 fits the picture in
    pan: tuple[float, float] = (0.0, 0.0)  # of the frame's middle, in pixels of the window
    delivery: Delivery | None = None  # whose frame is shown; None: the scan's own
    delivered: str = ""  # what that delivery is called
    density: float = 1.0  # pixels of the framebuffer for one of the window
    is_true: bool = False  # whether a pixel of the scan is one of the framebuffer, and nothing is framed
    pointer: tuple[float, float] | None = None  # in pixels of the picture's part; None where it is elsewhere
    region: tuple[float, float, float, float] | None = None  # what the scopes count, in shares of the scan
    corner: tuple[float, float] | None = None  # where a region that is being dragged began, likewise
    under: tuple[int, int] | None = None  # the pixel of the graded raster that the pointer is over
    pointed: tuple[float, float] | None = None  # where the pointer is, in shares of the frame
    in_scan: tuple[float, float] | None = None  # the same in shares of the scan; None where it is black
    middle: tuple[float, float] = (0.5, 0.5)  # what is seen in the middle, in shares of the frame
    is_on_other: bool = False  # whether the pointer is over what the picture is compared with
    begun_at: float = 0.0  # from the part's left to that half of it in which the right button was pressed
    dragged: str = ""  # what the left button drags: "edge", "turn", "picture", "film", "matte" or "framing"
    turned_from: float = 0.0  # radians from the pointer to the edge that is turned, when that began


@dataclass(slots=True)
class MatteView:
    """The open matte on the picture: how it is seen, and the handle that is held or was last."""

    seen: Literal["", "over", "alone"] = ""  # "over": what is clear is tinted; "alone": it is shown as grey
    handle: str = ""
    begun: dict[str, float] = field(default_factory=dict)  # what was set when the handle was taken
    offset: tuple[float, float] = (0.0, 0.0)  # from the pointer to the handle then, in pixels


@dataclass(slots=True)
class FramingHold:
    """The handle of framing that is held: what it sets, what that was, and where the pointer was then."""

    handle: str = ""
    begun: float = 0.0
    begun_at: tuple[float, float] = (0.0, 0.0)


@dataclass(slots=True)
class Strip:
    """The strip: which frames it spans, its small pictures, and what becomes of a drag."""

    span: tuple[float, float] = (0.0, 1.0)
    is_moved: bool = False  # whether it has been dragged, or only clicked
    copy: int | None = None  # where a copy would stand if it were let go
    snapped: int | None = None  # the frame that a drag has snapped to
    home: Transport | None = None  # how the film moved before the picture followed a drag


@dataclass(slots=True)
class ChainView:
    """The chain as it is drawn: whether it is, the end of a wire in the hand, what is looked for in the list.

    An end is a node and which of its inputs; NODE_OUTPUT where it is the node's own output.
    """

    is_open: bool = False
    dragged: End | None = None
    search: str = ""


@dataclass(slots=True)
class Typing:
    """A number that is being typed: its item, what is typed, what it was, and what comes after it."""

    item: int = 0  # by the window's numbers; 0 is none
    text: str = ""
    first: str = ""
    begins: bool = True
    then: int = 0  # the item that is typed next


@dataclass(slots=True)
class Panels:
    """What the panels know of themselves, and what they ask of the window."""

    scale: float = 1.0
    page: Page = "grade"
    picture: PictureView = field(default_factory=PictureView)
    strip: Strip = field(default_factory=Strip)
    chain: ChainView = field(default_factory=ChainView)
    cues: CueRows = field(default_factory=CueRows)
    proposals: Proposals = field(default_factory=Proposals)
    matching: Matching = field(default_factory=Matching)
    tracks: TracksView = field(default_factory=TracksView)
    loupe: LoupeView = field(default_factory=LoupeView)
    framing: FramingHold = field(default_factory=FramingHold)
    mattes: MatteView = field(default_factory=MatteView)
    screens: Screens = field(default_factory=Screens)
    copying: Copying = field(default_factory=Copying)
    recording: Recording = field(default_factory=Recording)
    master: str = ""  # what is being typed as the path of a master
    still: OtherPicture | None = None  # stored to compare others with
    offset: str = ""  # what is being typed as the offset of the sound
    typed_place: str = ""  # what is being typed as a place
    typing: Typing = field(default_factory=Typing)
    brings: str = ""  # the node that was just opened, to be brought into sight
    stepped: Drag | None = None  # what the wheel or the arrows moved last
    picks: bool = False  # whether the next click on the picture picks a neutral
    hears: bool = True  # whether sound plays with the picture
    limits: bool = False  # whether pixels out of limits are marked
    judges: bool = False  # whether stripes and scopes are of the delivered picture
    helps: bool = False
    focus: Focus = field(default_factory=Focus)
    keys: KeyBook = field(default_factory=KeyBook)
    key_page: KeyPage = field(default_factory=KeyPage)
    preferred: Preferred = field(default_factory=Preferred)
    sticks: SticksPage = field(default_factory=SticksPage)
    menu: Menu = field(default_factory=Menu)
    asks_to_quit: bool = False
    goes_to_start: bool = False  # whether the start page is wanted in place of this one
    is_over: bool = False  # the reel may close
    left_over: LeftOver | None = None  # what an earlier run did not save
    asked: str = ""  # the question that is open
    strip_width: float = 1.0  # pixels of the window
    drag: Drag | None = None  # what a hand holds of a cue
    nudge: Nudge | None = None  # the last of a cue by keys
    reaction: str = ""  # what is being typed as the reaction allowance
    point: int | None = None  # of the curve that is dragged

    @property
    def opened(self) -> tuple[str, ...]:
        """The nodes whose controls are open, in the order in which they were opened."""
        return self.preferred.now.opened

    @property
    def node(self) -> str:
        """The node that was opened last of those that are open, or nothing."""
        return self.opened[-1] if self.opened else ""

    @node.setter
    def node(self, name: str) -> None:
        """Open a node, or close the last one where none is named."""
        others = tuple(node for node in self.opened if node != name)
        self.preferred.change(opened=(*others, name) if name else self.opened[:-1])
        self.brings = name

    def fold(self, name: str) -> None:
        """Open a node that is closed, close one that is open."""
        others = tuple(node for node in self.opened if node != name)
        self.brings = "" if name in self.opened else name
        self.preferred.change(opened=others if name in self.opened else (*others, name))


def spread(span: tuple[float, float], count: int, frames: int) -> tuple[int, ...]:
    """Return the frames in the middle of each of `count` equal parts of a span of the reel."""
    start, stop = span
    places = (int(start + (stop - start) * (n + 0.5) / count) for n in range(count))
    return tuple(min(max(place, 0), frames - 1) for place in places)
