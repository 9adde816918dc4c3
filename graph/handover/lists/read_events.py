"""An event list in the form of SMPTE ST 258, as many programs write it, read for what a reel can take.

Lists are met with names of reels longer than eight characters, numbers longer than three digits, and any
separator in times; so events are told by their fields and not by columns.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import chain
from pathlib import PurePath, PureWindowsPath
from typing import Final

from lamphouse.graph.edits.arrivals import Arrival, Arrived, Left, Place
from lamphouse.graph.handover.lists import words
from lamphouse.graph.handover.lists.clock import Clock
from lamphouse.graph.handover.lists.event_list import form_name
from lamphouse.graph.handover.lists.read_text import lines_of
from lamphouse.graph.reel.counters import counter
from lamphouse.graph.reel.records import Mark, Reel
from lamphouse.graph.time.rate import parse_rate
from lamphouse.nodes.cdl import Cdl
from lamphouse.nodes.errors import BadInput, stem
from lamphouse.nodes.luts.number_text import number, numbers

LONGEST: Final = 2000  # characters of a line; of a comment as many are kept
_TIME: Final = r" (\d{1,2}[:;.,]\d{1,2}[:;.,]\d{1,2}[:;.,]\d{1,3})"
# Of a line with one blank between its fields: reel, channel, kind, length, times.
_EVENT: Final = re.compile(
    r"\d{1,6} (\S.{0,200}?) (\S{1,12}) (C|D|W\d{0,4}|K|KB|KO)(?: (\d{1,4}))?" + _TIME * 4
)
_NUMBERED: Final = re.compile(r"\d{1,6}\s")
_MODE: Final = re.compile(r"FCM\s*:\s*(NON[- ]?)?DROP", re.IGNORECASE)
_COMMENT: Final = re.compile(r"[*>#]?\s*([A-Z][A-Z0-9_ ]{0,40}?)\s*:\s*(.*)|[*>#].*")
_SOP: Final = re.compile(r"\(([^()]*)\)\s*\(([^()]*)\)\s*\(([^()]*)\)\s*")
_CDL: Final = re.compile(r"[*>#]?\s*(ASC_SOP|ASC_SAT)\s*:?\s*(.*)")
_PASSES: Final = re.compile(r"(\d{1,7}) FRAMES, (even|soft)")
_PLACE: Final = re.compile(_TIME[1:] + r"\s+(\w*)(?:\s+(.*))?")
# Comments that name what a shot is made of, the best name for it first; met in lists.
_NAMES: Final = ("TO CLIP NAME", "FROM CLIP NAME", "FROM CLIP", "FROM FILE", "SOURCE FILE")
_SILENT: Final = ("TITLE", "FCM", "SPLIT", "AUD ", "EFFECT", "* BLEND", "*BLEND")  # nothing of a reel's


@dataclass
class _Event:
    """An event as its lines say it."""

    line: int
    reel: str
    channel: str
    kind: str
    over: int
    times: tuple[str, ...]
    drops: bool | None
    said: dict[str, str] = field(default_factory=dict)
    comments: list[str] = field(default_factory=list)
    places: list[tuple[str, str]] = field(default_factory=list)

    @property
    def where(self) -> str:
        return f"line {self.line}"


def read_events(data: bytes, where: str, reel: Reel) -> Arrived:
    """Return what the event list `data` brings to `reel`. Raises BadInput where it is none."""
    return _Reader(reel).arrived(lines_of(data, where), where)


class _Reader:
    def __init__(self, reel: Reel) -> None:
        self._clock = Clock(counter(reel))
        self._file = PurePath(reel.scan.path)
        self._names = {form_name(reel.scan.path), self._file.stem.upper(), self._file.name.upper()}
        self._left: list[Left] = []
        self._rates: dict[str, str] = {}

    def arrived(self, lines: list[str], where: str) -> Arrived:
        events = list(self._events(lines))
        if not events:
            raise BadInput(f"{where} holds no event, as an event list does; give another file.")
        shots = tuple(shot for event in events if (shot := self._shot(event)) is not None)
        return Arrived(shots=shots, left=tuple(self._left))

    def _events(self, lines: list[str]) -> Iterator[_Event]:
        """Yield the events with the lines below each."""
        event: _Event | None = None
        drops: bool | None = None
        for at, line in enumerate((line[:LONGEST].strip() for line in lines), 1):
            if (mode := _MODE.match(line)) is not None:
                drops = mode[1] is None
            elif (found := _EVENT.fullmatch(" ".join(line.split()))) is not None:
                if event is not None:
                    yield event
                reel, channel, kind, over, *times = found.groups()
                event = _Event(at, reel, channel, kind, int(over or 0), tuple(times), drops)
            elif line and not line.upper().startswith(_SILENT):
                self._below(event, line, f"line {at}")
        if event is not None:
            yield event

    def _below(self, event: _Event | None, line: str, where: str) -> None:
        """Take one line below an event for what it is."""
        if _NUMBERED.match(line):
            self._left.append(Left("event", "its line is not whole", where))
        elif event is None:
            self._left.append(Left("line", "before the first event", where))
        elif line.startswith("M2"):
            self._left.append(Left("change of speed", "a reel has one speed", where))
        elif (cdl := _CDL.match(line)) is not None:
            event.said[cdl[1]] = cdl[2]
        elif (comment := _COMMENT.fullmatch(line)) is None:
            self._left.append(Left("line", "of a kind that is not read", where))
        elif comment[1] == "LOC" and (place := _PLACE.fullmatch(comment[2])) is not None:
            event.places.append((place[1], (place[3] or place[2]).strip()))
        elif comment[1] in (*words.OURS, *_NAMES):
            event.said[comment[1]] = comment[2].strip()
        else:
            event.comments.append(line.lstrip("*># ").strip())

    def _shot(self, event: _Event) -> Arrival | None:
        """Return the shot that an event is, or None for one of sound or one that only leads to the next."""
        self._rates |= {
            key: event.said[key] for key in (words.RECORD_RATE, words.SOURCE_RATE) if key in event.said
        }
        if "V" not in event.channel.upper() and event.channel.upper() != "B":
            self._left.append(Left("event", "of sound", event.where))
            return None
        if event.kind.startswith("K"):
            self._left.append(Left("event", "a key, which is a picture over another", event.where))
            return None
        source, record = self._addresses(event)
        length = _between(record) or _between(source) or 0
        if length <= 0 and _between(record) == 0:
            return None  # the picture that a dissolve leaves
        over = event.over if event.kind != "C" else 0
        passes = _PASSES.fullmatch(event.said.get(words.TRANSITION, ""))
        return Arrival(
            where=event.where,
            source=self._place(source[0], over),
            record=self._place(record[0], over),
            frames=max(1, length - over),
            name=self._name(event),
            reel=event.reel,
            is_ours=event.reel.upper() in self._names,
            transition=over or (int(passes[1]) if passes else 0),
            ease=passes[2] if passes else "even" if over else "soft",
            cdl=self._cdl(event),
            marks=tuple(self._marks(event, record[0], over)),
        )

    def _addresses(self, event: _Event) -> tuple[tuple[int | str, ...], tuple[int | str, ...]]:
        """Return both source times and both record times as addresses, or why they are none."""
        marked = any(";" in time for time in event.times)
        found = [self._address(event, n, marked) for n in range(4)]
        return tuple(found[:2]), tuple(found[2:])

    def _address(self, event: _Event, number: int, marked: bool) -> int | str:
        key = words.SOURCE_RATE if number < 2 else words.RECORD_RATE
        if other := self._clock.at_rate(_rate(self._rates.get(key))):
            return other
        text = re.sub(r"[.,]", ":", event.times[number])
        drops = ";" in text if marked else event.drops
        return self._clock.address(text, drops=drops)

    def _place(self, address: int | str, over: int) -> Place:
        return (
            address if isinstance(address, str) else self._clock.within(self._clock.nearest(address + over))
        )

    def _name(self, event: _Event) -> str:
        """Return what a shot is called: by our own comment, or after a clip that is not the scan itself."""
        if any(key in event.said for key in (words.CUE, words.CUE_NUMBER)):
            return event.said.get(words.CUE, "")
        names = (event.said.get(key, "") for key in _NAMES)
        found = next((name for name in names if name and name != self._file.name), "")
        return PureWindowsPath(found).name  # which knows the marks between folders of either kind

    def _cdl(self, event: _Event) -> Cdl | None:
        sop, sat = event.said.get("ASC_SOP"), event.said.get("ASC_SAT")
        if sop is None and sat is None:
            return None
        try:
            return _cdl_of(sop, sat)
        except ValueError as error:
            self._left.append(Left("CDL", stem(error), event.where))
            return None

    def _marks(self, event: _Event, record: int | str, over: int) -> Iterator[Mark]:
        for time, name in event.places:
            drops = ";" in time if any(";" in t for t in event.times) else event.drops
            at = self._clock.address(re.sub(r"[.,]", ":", time), drops=drops)
            if isinstance(at, int) and isinstance(record, int):
                yield Mark(frame=at - record - over, name=name)
            else:
                self._left.append(Left("mark", "its time cannot be read", event.where))
        if notes := [comment for comment in event.comments if comment != self._name(event)]:
            yield Mark(frame=0, note="; ".join(notes)[:LONGEST])


def _between(times: tuple[int | str, ...]) -> int | None:
    first, stop = times
    return stop - first if isinstance(first, int) and isinstance(stop, int) else None


def _rate(text: str | None) -> Fraction | None:
    try:
        return None if text is None else parse_rate(text)
    except BadInput:
        return None


def _cdl_of(sop: str | None, sat: str | None) -> Cdl:
    """Return the CDL of two comments. Raises ValueError for numbers that are none."""
    ten = [1.0] * 3 + [0.0] * 3 + [1.0] * 4
    if sop is not None:
        found = _SOP.fullmatch(sop.strip())
        groups = [group.replace(",", " ").split() for group in found.groups()] if found else []
        if [len(group) for group in groups] != [3, 3, 3]:
            raise ValueError("it has not three numbers of each kind")
        ten[:9] = map(float, numbers(chain(*groups), "ASC_SOP"))
    if sat is not None:
        ten[9] = number(sat.strip(), "ASC_SAT")
    if (cdl := Cdl.of(ten, "")).fault:
        raise ValueError(cdl.fault)
    return cdl
