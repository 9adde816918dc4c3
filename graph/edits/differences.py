"""What differs between two versions of a reel, a row for each thing: cues, marks, tracks, chain, the rest."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

import msgspec

from lamphouse.graph.cues.words import beginning_text, cue_text, set_text, settings_text, track_text
from lamphouse.graph.edits.marks import mark_text
from lamphouse.graph.reel.counters import Counter, counter
from lamphouse.graph.reel.records import Cue, Delivery, Mark, NodeRef, Reel, Track
from lamphouse.nodes.one_line import one_line
from lamphouse.nodes.values import value_text

NOTHING: Final = "-"  # that it is not in this version


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that is not the same in two reels, as each has it; `frame` is its place, where it has one."""

    frame: int | None
    what: str
    one: str
    other: str

    def __str__(self) -> str:
        return f"{self.what}: {self.one} / {self.other}"


def differences(one: Reel, other: Reel) -> tuple[Difference, ...]:
    """Return what differs between two versions of a reel, in order of place, and then what has none."""
    placed = (*_cues(one, other), *_marks(one, other), *_tracks(one, other))
    by_place = sorted(placed, key=lambda found: found.frame or 0)
    rest = (*_chain(one, other), *_deliveries(one, other), *_facts(one, other))
    return (*by_place, *rest)


# Cues.


def _cues(one: Reel, other: Reel) -> Iterator[Difference]:
    mine, theirs = ({cue.frame: cue for cue in reel.cues} for reel in (one, other))
    numbers = [{cue.frame: n for n, cue in enumerate(reel.cues, 1)} for reel in (one, other)]
    moved = _moved(
        [cue for cue in one.cues if cue.frame not in theirs], [c for c in other.cues if c.frame not in mine]
    )
    came = {new.frame for new in moved.values()}
    for cue in one.cues:
        called = cue_text(numbers[0][cue.frame], cue)
        there = theirs.get(cue.frame) or moved.get(cue.frame)
        if there is None:
            yield Difference(cue.frame, called, _whole(cue), NOTHING)
        elif there != cue:
            yield from _cue(called, cue, there, counter(one))
    for cue in other.cues:
        if cue.frame not in mine and cue.frame not in came:
            yield Difference(cue.frame, cue_text(numbers[1][cue.frame], cue), NOTHING, _whole(cue))


def _moved(gone: Sequence[Cue], new: Sequence[Cue]) -> dict[int, Cue]:
    """Return where cues that are at no frame of the other version went: by name, else by what they set."""
    found: dict[int, Cue] = {}
    for sign in (lambda cue: cue.name, settings_text):
        came = {cue.frame for cue in found.values()}
        left = {sign(cue): cue for cue in reversed(new) if sign(cue) and cue.frame not in came}
        for cue in gone:
            if cue.frame not in found and sign(cue) in left:
                found[cue.frame] = left.pop(sign(cue))
    return found


def _cue(called: str, one: Cue, other: Cue, counters: Counter) -> Iterator[Difference]:
    """Give how a cue differs from itself in the other version."""
    facts: tuple[tuple[str, Callable[[Cue], str]], ...] = (
        ("place", lambda cue: counters.readings(cue.frame).timecode),
        ("name", lambda cue: one_line(cue.name) or NOTHING),
        ("begins", beginning_text),
    )
    for what, text in facts:
        if text(one) != text(other):
            yield Difference(one.frame, f"{called}, {what}", text(one), text(other))
    if beginning_text(one) == beginning_text(other) and one.begins == "transition" and one.ease != other.ease:
        yield Difference(one.frame, f"{called}, easing", value_text(one.ease), value_text(other.ease))
    for key in dict.fromkeys([*one.settings, *other.settings]):
        a, b = (_value(cue, key) for cue in (one, other))
        if a != b:
            yield Difference(one.frame, f"{called}, {one_line(key)}", a, b)


def _value(cue: Cue, key: str) -> str:
    return one_line(value_text(cue.settings[key])) if key in cue.settings else NOTHING


def _whole(cue: Cue) -> str:
    return ", ".join(text for text in (beginning_text(cue), set_text(cue)) if text)


# Marks, tracks, chain, deliveries, and what else a reel says.


def _marks(one: Reel, other: Reel) -> Iterator[Difference]:
    mine, theirs = ({(mark.frame, mark.kind): mark for mark in reel.marks} for reel in (one, other))
    for key in dict.fromkeys([*mine, *theirs]):
        a, b = mine.get(key), theirs.get(key)
        if a != b:
            yield Difference(key[0], "mark", _mark(a), _mark(b))


def _mark(mark: Mark | None) -> str:
    if mark is None:
        return NOTHING
    return " ".join((mark_text(mark), one_line(mark.name), one_line(mark.note))).strip()


def _tracks(one: Reel, other: Reel) -> Iterator[Difference]:
    mine, theirs = ({(t.frame, t.parameter): t for t in reel.tracks} for reel in (one, other))
    for key in dict.fromkeys([*mine, *theirs]):
        a, b = mine.get(key), theirs.get(key)
        if a != b:
            yield Difference(key[0], f"track of {one_line(key[1])}", _track(a), _track(b))


def _track(track: Track | None) -> str:
    return NOTHING if track is None else track_text(track)


def _chain(one: Reel, other: Reel) -> Iterator[Difference]:
    mine, theirs = ({node.name: node for node in reel.chain.nodes} for reel in (one, other))
    for name in dict.fromkeys([*mine, *theirs]):
        a, b = mine.get(name), theirs.get(name)
        if a != b:
            yield Difference(None, f"node {one_line(name)}", _node(a), _node(b))
    if one.chain.output != other.chain.output:
        yield Difference(
            None, "output of the chain", one_line(one.chain.output), one_line(other.chain.output)
        )


def _node(node: NodeRef | None) -> str:
    return NOTHING if node is None else one_line(f"{node.kind} of {', '.join(node.inputs) or 'nothing'}")


def _deliveries(one: Reel, other: Reel) -> Iterator[Difference]:
    for name in dict.fromkeys([*one.deliveries, *other.deliveries]):
        a, b = one.deliveries.get(name), other.deliveries.get(name)
        if a is None or b is None:
            yield Difference(None, f"delivery {one_line(name)}", _delivery(a), _delivery(b))
        else:
            yield from _fields(a, b, f"delivery {one_line(name)}, ")


def _delivery(delivery: Delivery | None) -> str:
    return NOTHING if delivery is None else f"{delivery.codec} in {delivery.container}"


_APART: Final = ("cues", "marks", "tracks", "chain", "deliveries")  # what has rows of its own


def _facts(one: Reel, other: Reel) -> Iterator[Difference]:
    yield from _fields(one, other, "", _APART)


def _fields(one: Any, other: Any, where: str, apart: Sequence[str] = ()) -> Iterator[Difference]:
    """Give the fields of two records that differ, and of records within them theirs."""
    for name in one.__struct_fields__:
        a, b = getattr(one, name), getattr(other, name)
        if name in apart or a == b:
            continue
        if isinstance(a, msgspec.Struct) and isinstance(b, msgspec.Struct):
            yield from _fields(a, b, f"{where}{name.replace('_', ' ')}, ")
        else:
            yield Difference(None, f"{where}{name.replace('_', ' ')}", _fact(a), _fact(b))


def _fact(value: Any) -> str:
    if isinstance(value, msgspec.Struct):
        return "there"
    return NOTHING if value in (None, "", {}, ()) else one_line(value_text(value))
