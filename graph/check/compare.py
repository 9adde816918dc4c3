"""Two masters against each other: pictures, times, sound, and what they state of themselves."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import av

from lamphouse.graph.check.decoding import Decoded
from lamphouse.graph.check.files import of_facts
from lamphouse.graph.check.findings import Finding, Findings, Names, of_pictures
from lamphouse.graph.check.order import align
from lamphouse.graph.media.codes.sums import SecondSums
from lamphouse.graph.media.master.facts import facts_of
from lamphouse.graph.reel.span import Span
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.one_line import sentence


def compare(master: Path, ours: Decoded, other: Path, theirs: Decoded, span: Span | None) -> Findings:
    """Return where `master`, which decodes to `ours`, is another than `other`, which does to `theirs`.

    Frames are called as `span` has them, if it is known.
    """
    names, found = Names(span), Findings()
    found.add(_unreadable(master, ours, names))
    found.add(_unreadable(other, theirs, names))
    alignment = align([picture or "" for picture in theirs.pictures], ours.pictures)
    found.add(of_pictures(alignment.differences, names, f"{other.name}'s"))
    found.add(_sound(ours.sound, theirs.sound, other))
    found.add(_facts(master, other))
    if not found.count:
        found.said.append(f"{master.name} and {other.name} decode to the same {len(ours.pictures)} pictures.")
    return found


def _facts(master: Path, other: Path) -> Iterator[Finding]:
    try:
        meant = facts_of(other)
    except (av.FFmpegError, OSError, BadInput):
        return  # what cannot be opened has been told when it could not be decoded
    yield from of_facts(master, meant, other.name)


def _unreadable(path: Path, decoded: Decoded, names: Names) -> Iterator[Finding]:
    for number, broken in decoded.broken:
        text = sentence(f"{names.words(number)} of {path.name} {broken.how}.")
        yield Finding("broken", text, **names.place(number, number + 1))
    if decoded.ended:
        at = len(decoded.pictures)
        text = sentence(f"{path} cannot be read from {names.within(at)} on ({decoded.ended}).")
        yield Finding("unreadable", text, **names.place(at, at + 1))


def _sound(ours: SecondSums | None, theirs: SecondSums | None, other: Path) -> Iterator[Finding]:
    one, two = (sums.all() if sums else () for sums in (ours, theirs))
    counts = [sums.samples if sums else 0 for sums in (ours, theirs)]
    if counts[0] != counts[1]:
        text = f"The sound has {counts[0]} samples, and that of {other.name} {counts[1]}."
        yield Finding("sound length", sentence(text))
    wrong = [second for second, pair in enumerate(zip(one, two, strict=False)) if pair[0] != pair[1]]
    if wrong:
        where = f"in {len(wrong)} seconds, first in second {wrong[0]}"
        text = f"The sound differs from that of {other.name} {where}."
        yield Finding("sound differs", sentence(text))
