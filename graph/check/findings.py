"""What was found of a master: a sentence each, with its place in three readings, its rule and its weight."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass, field
from typing import Any, Final, Literal

from lamphouse.graph.check.order import Difference
from lamphouse.graph.reel.counters import counter
from lamphouse.graph.reel.span import Span
from lamphouse.nodes.one_line import sentence

MOST: Final = 100  # findings that are kept; of more the number is

Weight = Literal["fault", "caution", "note"]


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing found: its kind in a word, a sentence, and the frames of the master, half-open.

    `frame`, `timecode` and `feet` are the three readings of its place, `feet` only where that shows film.
    `rule` is what was asked, such as EBU R 103, `source` where that stands; `picture` the name of a still.
    `worst` is that of its frames of which most is to be said, where one is.
    Only a fault makes a master a bad one.
    """

    kind: str
    sentence: str
    frame: int | None = None
    stop: int | None = None
    timecode: str = ""
    cue: str = ""
    rule: str = ""
    source: str = ""
    weight: Weight = "fault"
    feet: str = ""
    picture: str = ""
    worst: int | None = None

    @property
    def shown(self) -> int | None:
        """The frame to look at for it: the worst, else its first, if it has any."""
        return self.frame if self.worst is None else self.worst


@dataclass(slots=True)
class Findings:
    """What was found, in its order: the first hundred faults and as many others, and how many more of each.

    `said` is what was found good.
    """

    faults: list[Finding] = field(default_factory=list)
    more: int = 0
    said: list[str] = field(default_factory=list)
    others: list[Finding] = field(default_factory=list)  # cautions and notes
    more_others: int = 0

    @classmethod
    def of(cls, findings: Iterable[Finding], said: Iterable[str] = ()) -> Findings:
        """Return findings, and what is `said` where there are none."""
        found = cls()
        found.add(findings)
        if not (found.faults or found.others):
            found.said += said
        return found

    @property
    def count(self) -> int:
        """How many faults there are."""
        return len(self.faults) + self.more

    @property
    def counted(self) -> str:
        """How many faults there are, as the beginning of a sentence: `1 fault was`."""
        return "1 fault was" if self.count == 1 else f"{self.count} faults were"

    def add(self, findings: Iterable[Finding]) -> None:
        """Take findings."""
        for finding in findings:
            is_fault = finding.weight == "fault"
            kept = self.faults if is_fault else self.others
            if len(kept) < MOST:
                kept.append(finding)
            elif is_fault:
                self.more += 1
            else:
                self.more_others += 1

    def join(self, other: Findings) -> None:
        """Take what another check has found."""
        self.add(other.faults)
        self.add(other.others)
        self.more += other.more
        self.more_others += other.more_others
        self.said += other.said

    def lines(self) -> list[str]:
        """Return all of it as sentences."""
        lines = [sentence(text) for text in self.said]
        lines += [*(found.sentence for found in self.faults), *more_words(self.more, "faults")]
        return [*lines, *(found.sentence for found in self.others), *more_words(self.more_others, "cautions")]

    def document(self) -> dict[str, Any]:
        """Return all of it for JSON."""
        return {
            "is_good": not self.count,
            "said": self.said,
            "faults": [asdict(fault) for fault in self.faults],
            "more": self.more,
            "others": [asdict(other) for other in self.others],
            "more_others": self.more_others,
        }


def more_words(count: int, what: str) -> list[str]:
    """Return the sentence on how many more there are than are kept, if there are."""
    return [f"And {count} more {what}."] if count else []


class Names:
    """What the frames of a master are called: by timecode and cue where `span` knows them.

    Without one `timecode` may tell the timecode of a frame, as the file counts.
    """

    def __init__(self, span: Span | None, timecode: Callable[[int], str] | None = None) -> None:
        self._span = span
        self._timecode = span.timecode if span else timecode

    def words(self, number: int) -> str:
        """Return what a sentence calls a frame at its beginning."""
        if self._span:
            return self._span.words(number)
        return f"Frame {number} ({self._timecode(number)})" if self._timecode else f"Frame {number}"

    def within(self, number: int) -> str:
        """Return what a sentence calls a frame further on."""
        words = self.words(number)
        return f"f{words[1:]}"

    def span_words(self, first: int, stop: int) -> str:
        """Return what a sentence calls frames [first, stop)."""
        if stop - first == 1:
            return self.words(first)
        return f"{self.words(first)} and those up to {self.within(stop - 1)}"

    def place(self, first: int, stop: int) -> dict[str, Any]:
        """Return the frames [first, stop) as a finding holds them."""
        cue = self._span.cue(first) if self._span else None
        return {
            "frame": first,
            "stop": stop,
            "timecode": self._timecode(first) if self._timecode else "",
            "cue": cue.name if cue else "",
            "feet": self._feet(first),
        }

    def finding(self, kind: str, first: int, stop: int, predicate: str, **more: Any) -> Finding:
        """Return a finding of frames [first, stop): their names, then `predicate`; `more` are its fields."""
        text = sentence(f"{self.span_words(first, stop)} {predicate}.")
        return Finding(kind, text, **self.place(first, stop), **more)

    def _feet(self, number: int) -> str:
        frame = self._span.frame(number) if self._span else None
        return counter(self._span.reel).readings(frame).footage if self._span and frame is not None else ""


def of_pictures(differences: Iterable[Difference], names: Names, meant: str) -> Iterable[Finding]:
    """Yield what is wrong with pictures; `meant` says what they were held against, as `the record has it`."""
    for found in differences:
        yield _of_picture(found, names, meant)


def _of_picture(found: Difference, names: Names, meant: str) -> Finding:
    first, stop, other = found.first, found.stop, found.other
    many = stop - first > 1
    if found.kind == "missing":
        return names.finding("missing", first, stop, "are missing" if many else "is missing")
    if found.kind == "swapped" and other is not None:
        return names.finding("swapped", first, stop, f"is swapped with {names.within(other)}")
    if found.kind == "elsewhere" and other is not None:
        if other == first - 1:
            return names.finding("repeated", first, stop, f"repeats {names.within(other)}")
        return names.finding("wrong place", first, stop, f"shows the picture of {names.within(other)}")
    if found.kind == "extra":
        return _extra(found, names)
    return names.finding("differs", first, stop, f"{'differ' if many else 'differs'} from {meant}")


def _extra(found: Difference, names: Names) -> Finding:
    count = found.stop - found.first
    is_one = count == 1
    what = "A picture too many stands" if is_one else f"{count} pictures too many stand"
    where = f"before {names.within(found.first)}" if found.first else "at the beginning"
    kind, of = "extra", ""
    if found.other is not None:
        kind, of = "repeated", f": {names.within(found.other)}{'' if is_one else ' and more'}, repeated"
    text = sentence(f"{what} {where}{of}.")
    return Finding(kind, text, **names.place(found.first, found.first + 1))
