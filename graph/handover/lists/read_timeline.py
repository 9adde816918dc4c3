"""A timeline of OpenTimelineIO, read for what a reel can take. No media that it names is opened.

The library reads the objects; before it the text has been read here, so that nothing nested without end and
no number without sense reaches it.
"""

from __future__ import annotations

import math
import re
from bisect import bisect_right
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import PurePosixPath
from typing import TYPE_CHECKING, Any, Final, cast, get_args
from urllib.parse import unquote

import msgspec

from lamphouse.graph.edits.arrivals import WITHOUT_SHOT, Arrival, Arrived, Left, Place
from lamphouse.graph.files.json_document import read_document
from lamphouse.graph.handover.lists.clock import Clock
from lamphouse.graph.handover.lists.timeline import CDL, OURS
from lamphouse.graph.reel.counters import counter
from lamphouse.graph.reel.limits import FRAMES
from lamphouse.graph.reel.records import Mark, MarkKind, Reel
from lamphouse.graph.time.measured_rate import exact_rate
from lamphouse.graph.time.rate import parse_rate, rate_words
from lamphouse.nodes.cdl import Cdl
from lamphouse.nodes.errors import BadInput

if TYPE_CHECKING:
    from opentimelineio.opentime import RationalTime
    from opentimelineio.schema import Clip, Timeline, Track, Transition

LONGEST: Final = 2000  # characters of a name that is taken
MOST: Final = 2_000_000  # values, some hundred bytes each in memory; 10,000 shots have 1,300,000
_LINE: Final = re.compile(r"near line (\d+)")
BETWEEN: Final = "between two frames"
NEAR: Final = Fraction(1, 100)  # of a frame: files hold floats
NO_TIME: Final = "it has no time of its own"

_Frames = int | str  # frames at the reel's rate, or why they are none


@dataclass(frozen=True, slots=True)
class _Placed:
    """An item of the track: how many frames from its beginning, and what passes into it.

    A transition takes `over` frames, of which `after` are the item's first.
    """

    item: Any
    where: str
    start: _Frames
    frames: _Frames
    over: int = 0
    after: int = 0
    ease: str = "soft"


def read_timeline(data: bytes, where: str, reel: Reel) -> Arrived:
    """Return what the timeline `data` brings to `reel`. Raises BadInput where it is none."""
    return _Reader(reel).arrived(_timeline(data, where), where)


def _timeline(data: bytes, where: str) -> Timeline:
    from opentimelineio.core import deserialize_json_from_string
    from opentimelineio.schema import SerializableCollection, Timeline

    document = read_document(data, where, "a timeline", MOST)
    if not isinstance(document, dict) or "OTIO_SCHEMA" not in document:
        raise BadInput(f"{where} is not a timeline of OpenTimelineIO, for it lacks OTIO_SCHEMA.")
    try:
        found = deserialize_json_from_string(data.decode("utf-8-sig"))
    except Exception as error:  # the library raises what it likes of a file that is wrong
        line = _LINE.search(str(error))
        near = f" near line {line[1]}" if line else ""
        raise BadInput(f"{where} is not a whole timeline{near}; fetch it again.") from error
    held = list(found) if isinstance(found, SerializableCollection) else [found]
    timelines = [one for one in held if isinstance(one, Timeline)]
    if len(timelines) != 1:
        raise BadInput(f"{where} holds {len(timelines)} timelines; give a file of one.")
    return timelines[0]


class _Reader:
    def __init__(self, reel: Reel) -> None:
        self._clock = Clock(counter(reel))
        self._file = PurePosixPath(reel.scan.path).name
        self._left: list[Left] = []
        # A file states one rate thousands of times.
        self._other_rate = cache(lambda stated: self._clock.at_rate(_rate(stated)))

    def arrived(self, timeline: Timeline, where: str) -> Arrived:
        track = self._track(timeline, where)
        begin = self._begin(timeline)
        placed = list(self._placed(track))
        marks = [*self._markers(timeline.tracks), *self._markers(track)]
        by_item = self._in_items(placed, marks)
        shots = [self._shot(one, begin, held) for one, held in zip(placed, by_item, strict=True)]
        return Arrived(shots=tuple(shots), left=tuple(self._left))

    def _track(self, timeline: Timeline, where: str) -> Track:
        """Return the first video track with anything in it; the others are left."""
        from opentimelineio.schema import Track

        tracks = [one for one in timeline.tracks if isinstance(one, Track) and len(one)]
        video = [one for one in tracks if one.kind == Track.Kind.Video]
        if not video:
            raise BadInput(f"{where} holds no video track with a clip in it; give another file.")
        for one in tracks:
            if one is not video[0]:
                what = "track of sound" if one.kind == Track.Kind.Audio else "track"
                self._left.append(Left(what, "only the first of pictures is taken", _short(one.name)))
        return video[0]

    def _begin(self, timeline: Timeline) -> _Frames:
        """Return the frame of the reel at which the timeline begins: its first, where it has no time."""
        start = timeline.global_start_time
        frames = 0 if start is None else self._frames(start)
        return frames if start is None or isinstance(frames, str) else self._clock.nearest(frames)

    def _frames(self, time: RationalTime) -> _Frames:
        """Return a time as frames at the reel's rate, or why it is none."""
        if other := self._other_rate(time.rate):
            return other
        frames = round(time.value)
        return frames if abs(Fraction(time.value) - frames) <= NEAR else BETWEEN

    def _placed(self, track: Track) -> Iterator[_Placed]:
        from opentimelineio.schema import Gap, Transition

        start: _Frames = 0
        passing: Transition | None = None
        for number, item in enumerate(track, 1):
            if isinstance(item, Transition):
                passing = item
                continue
            frames = self._length(item)
            if not isinstance(item, Gap):
                where = f"item {number} ({_short(item.name)})"
                yield _Placed(item, where, start, frames, *self._transition(passing))
            start, passing = _sum(start, frames), None

    def _length(self, item: Any) -> _Frames:
        try:
            return self._frames(item.duration())
        except Exception:  # of an item that neither says its length nor has media that do
            return NO_TIME

    def _transition(self, passing: Transition | None) -> tuple[int, int, str]:
        """Return how many frames a transition takes, how many of them lie after its cut, its easing."""
        if passing is None:
            return 0, 0, "soft"
        before, after = (self._frames(time) for time in (passing.in_offset, passing.out_offset))
        if isinstance(before, str) or isinstance(after, str) or min(before, after) < 0:
            self._left.append(Left("transition", "its length cannot be read", _short(passing.name)))
            return 0, 0, "soft"
        ease = _ours(passing).get("ease", "even")
        return min(before + after, FRAMES), min(after, FRAMES), "even" if ease == "even" else "soft"

    def _shot(self, one: _Placed, begin: _Frames, marks: list[Mark]) -> Arrival:
        from opentimelineio.schema import Clip

        item = one.item
        source, media = self._source(item) if isinstance(item, Clip) else ("it is made of several clips", "")
        if len(item.effects):
            self._left.append(Left("effect", "a reel has nothing like it at a shot", one.where))
        return Arrival(
            where=one.where,
            source=self._place(_sum(source, one.after)),
            record=self._place(_sum(_sum(begin, one.start), one.after)),
            frames=max(1, one.frames - one.after) if isinstance(one.frames, int) else 1,
            name=_name(item)[:LONGEST],
            reel=media,
            is_ours=media == self._file,
            transition=one.over,
            ease=one.ease,
            cdl=self._cdl(one),
            marks=tuple(_moved(mark, -one.after) for mark in (*self._markers(item), *marks)),
        )

    def _place(self, frames: _Frames) -> Place:
        return frames if isinstance(frames, str) else self._clock.within(frames)

    def _source(self, clip: Clip) -> tuple[_Frames, str]:
        """Return the frame of the reel at which a clip begins by its media, and what these are called."""
        media = clip.media_reference
        url = str(getattr(media, "target_url", "") or "")
        name = PurePosixPath(unquote(url)).name or _short(media.name if media else "")
        own = media.available_range if media else None
        start = clip.source_range or own
        frames: _Frames = NO_TIME if start is None else self._frames(start.start_time)
        if isinstance(frames, str):
            return frames, name
        first = self._frames(own.start_time) if own is not None and name == self._file else None
        return (frames - first if isinstance(first, int) else self._clock.nearest(frames)), name

    def _cdl(self, one: _Placed) -> Cdl | None:
        if not (said := one.item.metadata.get(CDL)):
            return None
        try:
            return _cdl_of(said)
        except Exception:  # whatever stands where numbers should
            self._left.append(Left("CDL", "its numbers cannot be read", one.where))
            return None

    def _markers(self, item: Any) -> Iterator[Mark]:
        """Yield the markers of an item as marks, so many frames from where it begins."""
        begin = 0 if item.source_range is None else self._frames(item.source_range.start_time)
        for marker in item.markers:
            start = self._frames(marker.marked_range.start_time)
            length = self._frames(marker.marked_range.duration)
            if isinstance(start, str) or isinstance(begin, str):
                self._left.append(
                    Left("mark", f"{start if isinstance(start, str) else begin}", _short(marker.name))
                )
            else:
                yield _mark(marker, start - begin, length if isinstance(length, int) else 1)

    def _in_items(self, placed: list[_Placed], marks: list[Mark]) -> list[list[Mark]]:
        """Return the marks of the whole track by the items that they lie in, from where each begins."""
        found: list[list[Mark]] = [[] for _ in placed]
        starts = [one.start for one in placed if isinstance(one.start, int)]
        whole = len(starts) == len(placed)
        for mark in marks:
            index = bisect_right(starts, mark.frame) - 1 if whole else -1
            length = placed[index].frames if index >= 0 else 0
            if isinstance(length, int) and index >= 0 and mark.frame < starts[index] + length:
                found[index].append(_moved(mark, -starts[index]))
            else:
                self._left.append(Left("mark", WITHOUT_SHOT, _short(mark.name)))
        return found


def _sum(one: _Frames, other: _Frames) -> _Frames:
    """Return the sum of two lengths, or why one of them is none."""
    if isinstance(one, str):
        return one
    return other if isinstance(other, str) else one + other


def _rate(stated: float) -> Fraction:
    """Return the rate that a file states: 23.98 is a name for one, as people write it."""
    try:
        return parse_rate(rate_words(Fraction(stated)))
    except BadInput:
        return exact_rate(stated) or Fraction(0)


def _short(name: object) -> str:
    return str(name)[:80]


def _ours(item: Any) -> Mapping[str, Any]:
    """Return what an item holds of ours, where it does."""
    ours = item.metadata.get(OURS)
    return ours if isinstance(ours, Mapping) else {}


def _name(item: Any) -> str:
    """Return what the cue of an item is called: by us, else as the item is."""
    ours = _ours(item)
    if "cue" not in ours:
        return str(item.name)
    return str(ours["cue"].get("name", "")) if isinstance(ours["cue"], Mapping) else ""


def _mark(marker: Any, frame: int, frames: int) -> Mark:
    ours = _ours(marker)
    is_ours = ours.get("kind") in get_args(MarkKind)
    return Mark(
        frame=_limited(frame),
        frames=max(1, min(frames, FRAMES)),
        name=str(ours.get("name", "") if is_ours else marker.name)[:LONGEST],
        kind=cast("MarkKind", ours["kind"]) if is_ours else "place",
        note=str(ours.get("note", "") if is_ours else marker.comment)[:LONGEST],
    )


def _moved(mark: Mark, frames: int) -> Mark:
    return msgspec.structs.replace(mark, frame=_limited(mark.frame + frames))


def _limited(frames: int) -> int:
    return max(-FRAMES, min(frames, FRAMES))


def _cdl_of(said: Any) -> Cdl:
    """Return the CDL that the library's own readers put into metadata. Raises for one that is none."""
    sop = said.get("asc_sop") or {"slope": [1.0] * 3, "offset": [0.0] * 3, "power": [1.0] * 3}
    ten = [float(n) for key in ("slope", "offset", "power") for n in sop[key]]
    cdl = Cdl.of([*ten, float(said.get("asc_sat", 1.0))], "")
    if len(ten) != 9 or not all(map(math.isfinite, cdl.ten)) or cdl.fault:
        raise ValueError(cdl.fault)
    return cdl
