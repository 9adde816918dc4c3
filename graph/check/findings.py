"""What was found wrong with a master: a sentence each, with its place."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass, field
from typing import Any, Final

from lamphouse.graph.check.order import Difference
from lamphouse.graph.reel.span import Span
from lamphouse.nodes.one_line import sentence

MOST: Final = 100  # findings that are kept; of more the number is


@dataclass(frozen=True, slots=True)
class Finding:
    """One fault: its kind in a word, a sentence, and the frames of the master that it concerns, half-open."""

    kind: str
    sentence: str
    frame: int | None = None
    stop: int | None = None
    timecode: str = ""
    cue: str = ""


@dataclass(slots=True)
class Findings:
    """What was found, in its order: the first hundred, and how many more. `said` is what was found good."""

    faults: list[Finding] = field(default_factory=list)
    more: int = 0
    said: list[str] = field(default_factory=list)

    @property
    def count(self) -> int:
        """How many faults there are."""
        return len(self.faults) + self.more

    def add(self, findings: Iterable[Finding]) -> None:
        """Take findings."""
        for finding in findings:
            if len(self.faults) < MOST:
                self.faults.append(finding)
            else:
                self.more += 1

    def join(self, other: Findings) -> None:
        """Take what another check has found."""
        self.add(other.faults)
        self.more += other.more
        self.said += other.said

    def lines(self) -> list[str]:
        """Return all of it as sentences."""
        more = [f"And {self.more} more faults."] if self.more else []
        return [*(sentence(text) for text in self.said), *(f.sentence for f in self.faults), *more]

    def document(self) -> dict[str, Any]:
        """Return all of it for JSON."""
        return {
            "is_good": not self.count,
            "said": self.said,
            "faults": [asdict(fault) for fault in self.faults],
            "more": self.more,
        }


class Names:
    """What the frames of a master are called: by timecode and cue where `span` knows them."""

    def __init__(self, span: Span | None) -> None:
        self._span = span

    def words(self, number: int) -> str:
        """Return what a sentence calls a frame at its beginning."""
        return self._span.words(number) if self._span else f"Frame {number}"

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
            "timecode": self._span.timecode(first) if self._span else "",
            "cue": cue.name if cue else "",
        }

    def finding(self, kind: str, first: int, stop: int, predicate: str) -> Finding:
        """Return a finding of frames [first, stop): their names, then `predicate`."""
        text = sentence(f"{self.span_words(first, stop)} {predicate}.")
        return Finding(kind, text, **self.place(first, stop))


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
