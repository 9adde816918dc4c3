"""The shots of a master as a timeline of OpenTimelineIO: clips, transitions of settings, marks.

A clip is a cue with the film that it holds. Its times in the scan are at the reel's rate, its length is in
frames of the master, and where the film runs at another speed an effect says so. What is ours lies in the
metadata under `lamphouse`; a CDL under `cdl`, where the library's own readers look for it.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from pathlib import PurePosixPath, PureWindowsPath
from typing import TYPE_CHECKING, Any, Final
from urllib.parse import quote

from lamphouse import __version__
from lamphouse.graph.cues.words import cue_text
from lamphouse.graph.edits.marks import WORDS
from lamphouse.graph.files.record import every_field
from lamphouse.graph.handover.cue_cdl import CueCdl
from lamphouse.graph.handover.lists.shots import Shot, marks_in
from lamphouse.graph.reel.counters import Counter, counter
from lamphouse.graph.reel.records import Mark, Reel
from lamphouse.graph.reel.span import Span
from lamphouse.graph.time.rate import parse_rate
from lamphouse.graph.time.timecode import frame_of_timecode
from lamphouse.nodes.one_line import one_line

if TYPE_CHECKING:
    from opentimelineio.opentime import RationalTime, TimeRange
    from opentimelineio.schema import Clip, ExternalReference, Marker, Timeline, Track, Transition

OURS: Final = "lamphouse"  # the name of our part of any metadata
CDL: Final = "cdl"


def timeline(title: str, span: Span, shots: Iterable[Shot]) -> Timeline:
    """Return the timeline of a master: one track, a clip for each shot that it shows, marks on the track.

    It begins with the first frame of film, at that frame's record time.
    """
    from opentimelineio.schema import Timeline

    made = _Timeline(span)
    start = frame_of_timecode(span.timecode(span.film.start), span.rate, drops=span.drops)
    found = Timeline(name=one_line(title), global_start_time=_time(start, span.rate))
    found.metadata[OURS] = {"version": __version__, **made.facts()}
    found.tracks.append(made.track(shot for shot in shots if shot.record))
    return found


def timeline_text(made: Timeline) -> bytes:
    """Return the file that holds a timeline, ending in a newline."""
    return f"{made.to_json_string(indent=2)}\n".encode()


class _Timeline:
    def __init__(self, span: Span) -> None:
        self._span = span
        self._reel: Reel = span.reel
        self._counter: Counter = counter(span.reel)
        self._film = parse_rate(span.reel.rate)

    def facts(self) -> dict[str, Any]:
        """Return what the schema has no place for of the reel and its delivery."""
        reel, span = self._reel, self._span
        return {
            "gauge": reel.gauge,
            "rate": reel.rate,
            "record_rate": str(span.rate),
            "counting": "drop" if span.drops else "non-drop",
            "cadence": span.delivery.cadence,
            "head_mark": reel.head_mark,
            "start": reel.start,
            "first": span.first,
            "stop": span.stop,
        }

    def track(self, shots: Iterable[Shot]) -> Track:
        from opentimelineio.schema import Track

        track = Track(name="V1", kind=Track.Kind.Video)
        for shot in shots:
            if shot.transition and len(track):
                track.append(self._transition(shot))
            track.append(self._clip(shot))
            track.markers.extend(self._marker(mark) for mark in marks_in(self._reel, shot.source))
        return track

    def _clip(self, shot: Shot) -> Clip:
        from opentimelineio.opentime import TimeRange
        from opentimelineio.schema import Clip, LinearTimeWarp

        begin, length = self._source(shot.source.start), _time(len(shot.record), self._span.rate)
        name = cue_text(shot.number, shot.cue) if shot.cue else "before the first cue"
        clip = Clip(name=name, media_reference=self._media(), source_range=TimeRange(begin, length))
        clip.metadata[OURS] = self._cue(shot)
        if isinstance(shot.cdl, CueCdl):
            clip.metadata[CDL] = _cdl(shot.cdl)
        if self._span.cadence.running != self._film:
            speed = float(self._span.cadence.running / self._film)
            clip.effects.append(LinearTimeWarp(name="speed of the film", time_scalar=speed))
        return clip

    def _cue(self, shot: Shot) -> dict[str, Any]:
        source = self._counter.readings(shot.source.start)
        found: dict[str, Any] = _plain(
            {
                "source_frames": [shot.source.start, shot.source.stop],
                "source_in": source.timecode,
                "footage": source.footage,
                "record_in": self._span.timecode(shot.record.start),
                "number": shot.number,
                "cue": every_field(shot.cue) if shot.cue else None,
                "cdl": shot.cdl.exactness if isinstance(shot.cdl, CueCdl) else f"none: {shot.cdl}",
            }
        )
        return found

    def _transition(self, shot: Shot) -> Transition:
        """Return what says that settings, and no picture, pass over, ending on the first frame of a shot."""
        from opentimelineio.schema import Transition

        over = self._span.number(shot.source.start) - self._span.number(shot.source.start - shot.transition)
        ease = shot.cue.ease if shot.cue else ""
        made = Transition(
            name="transition of settings",
            transition_type=Transition.Type.Custom,
            in_offset=_time(over, self._span.rate),
            out_offset=_time(0, self._span.rate),
        )
        made.metadata[OURS] = {"frames": shot.transition, "ease": ease if isinstance(ease, str) else "drawn"}
        return made

    def _marker(self, mark: Mark) -> Marker:
        from opentimelineio.opentime import TimeRange
        from opentimelineio.schema import Marker

        numbers = self._span.numbers(mark.frame, min(mark.frame + mark.frames, self._span.stop))
        at = numbers.start - self._span.film.start
        where = TimeRange(_time(at, self._span.rate), _time(max(1, len(numbers)), self._span.rate))
        made = Marker(name=one_line(mark.name or WORDS[mark.kind]), marked_range=where, color="WHITE")
        made.metadata[OURS] = _plain(every_field(mark))
        return made

    def _media(self) -> ExternalReference:
        from opentimelineio.schema import ExternalReference

        scan = self._reel.scan
        where = _range(self._source(0), _time(scan.frames, self._film))
        made = ExternalReference(target_url=url_of(scan.path), available_range=where)
        made.name = one_line(PurePosixPath(scan.path).name)
        return made

    def _source(self, frame: int) -> RationalTime:
        """Return the time of a frame of the reel, as its counters read there."""
        read = self._counter.readings(frame).timecode
        address = frame_of_timecode(read, self._film, drops=self._counter.drops)
        return _time(address, self._film)


def url_of(path: str) -> str:
    """Return the URL of a stored path: relative as that is, or of the scheme file."""
    windows = PureWindowsPath(path)
    if PurePosixPath(path).is_absolute() or windows.drive:
        return f"file://{'/' if windows.drive else ''}{quote(path, errors='replace')}"
    return quote(path, errors="replace")


def _plain(value: Any) -> Any:
    """Return what a record holds as the library takes it: whole characters, numbers of 64 bits."""
    if isinstance(value, dict):
        return {one_line(key): _plain(member) for key, member in value.items()}
    if isinstance(value, list):
        return [_plain(member) for member in value]
    if isinstance(value, str):
        return one_line(value)
    return value if isinstance(value, float) or -(2**63) <= (value or 0) < 2**63 else str(value)


def _time(frames: int, rate: Fraction) -> RationalTime:
    from opentimelineio.opentime import RationalTime

    return RationalTime(frames, float(rate))


def _range(start: RationalTime, duration: RationalTime) -> TimeRange:
    from opentimelineio.opentime import TimeRange

    return TimeRange(start, duration)


def _cdl(found: CueCdl) -> dict[str, Any]:
    cdl = found.cdl
    sop = {"slope": list(cdl.slope), "offset": list(cdl.offset), "power": list(cdl.power)}
    return {"asc_sop": sop, "asc_sat": cdl.saturation}
