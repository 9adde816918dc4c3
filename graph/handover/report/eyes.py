"""What of a master needs eyes: faults first, then what is to be looked at, each with its place."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final, Literal

from lamphouse.graph.check.findings import Finding, Findings
from lamphouse.graph.edits.marks import mark_text
from lamphouse.graph.media.master.record import MasterRecord
from lamphouse.graph.reel.counters import counter

Weight = Literal["fault", "caution"]

# What a person is told of each weight.
WORDS: Final[dict[Weight, str]] = {"fault": "to be mended", "caution": "to be looked at"}


@dataclass(frozen=True, slots=True)
class Eye:
    """Something to be seen to: a sentence, how much it weighs, where in words, and by which rule.

    `number` is the frame of the master that shows it, where it has a place.
    """

    weight: Weight
    sentence: str
    place: str = ""
    number: int | None = None
    rule: str = ""


def eyes_of(record: MasterRecord, found: Findings | None) -> list[Eye]:
    """Return what needs eyes, the gravest first, else in the order of the film."""
    all_of = [*_of_findings(found), *_of_record(record), *_of_marks(record)]
    return sorted(all_of, key=lambda eye: (eye.weight != "fault", eye.number is not None, eye.number or 0))


def words_of(eyes: Iterable[Eye]) -> str:
    """Return in a sentence how many there are of each weight."""
    weights = [eye.weight for eye in eyes]
    counts = {words: weights.count(weight) for weight, words in WORDS.items() if weight in weights}
    told = [f"{count} {'thing' if count == 1 else 'things'} {words}" for words, count in counts.items()]
    return f"There {_be(told)} {' and '.join(told)}." if told else "Nothing that was looked at needs eyes."


def _be(told: list[str]) -> str:
    return "is" if told[0].startswith("1 ") else "are"


def _of_findings(found: Findings | None) -> Iterator[Eye]:
    if found is None:
        return
    for one in (*found.faults, *found.others):
        if one.weight != "note":
            shown = one.shown
            yield Eye(one.weight, one.sentence, _place(one), shown, one.rule)
    if found.more:
        yield Eye("fault", f"And {found.more} more faults.")
    if found.more_others:
        yield Eye("caution", f"And {found.more_others} more of lesser weight.")


def _place(one: Finding) -> str:
    feet = f"{one.feet} ft" if one.feet else ""
    return ", ".join(filter(None, (one.timecode, feet, "" if one.frame is None else f"frame {one.frame}")))


def _of_record(record: MasterRecord) -> Iterator[Eye]:
    if not record.read_back:
        yield Eye("caution", "The master was not read back when it was made.")
    if record.without:
        yield Eye("caution", f"These corrections of the chain were left out: {', '.join(record.without)}.")
    for note in dict.fromkeys(record.notes):
        yield Eye("caution", note)


def _of_marks(record: MasterRecord) -> Iterator[Eye]:
    counters = counter(record.reel)
    for mark in record.reel.marks:
        if mark.kind == "place" or not (mark.frame < record.stop and record.first < mark.frame + mark.frames):
            continue
        place = counters.readings(mark.frame)
        what = mark_text(mark)
        name = f" {mark.name}" if mark.name else ""
        note = f" ({mark.note.rstrip('.')})" if mark.note else ""
        sentence = f"{what[0].upper()}{what[1:]}{name}{note}."
        yield Eye(
            "caution", sentence, f"{place.timecode}, {place.footage} ft, frame {place.frame}", mark.frame
        )
