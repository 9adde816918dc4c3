"""Timecode: what the container and the stills state, whether it is one, and whether it runs unbroken."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any, Final

import OpenImageIO as oiio

from lamphouse.graph.check.findings import Finding, Findings, Weight
from lamphouse.graph.check.runs import Run, runs_of
from lamphouse.graph.check.stated import stated
from lamphouse.graph.check.subject import Subject, counted_from
from lamphouse.graph.media.master.stills_back import still_files
from lamphouse.graph.media.scan.stills import still_timecode
from lamphouse.graph.time.timecode import frame_of_timecode
from lamphouse.nodes.errors import BadInput, clause
from lamphouse.nodes.one_line import one_line, sentence
from lamphouse.nodes.regular_file import utf8_name

RULE: Final = "SMPTE ST 12-1"
SOURCE: Final = "the text was not read; its rules are checked against open libraries"


def of_timecode(subject: Subject) -> Findings:
    """Return what is wrong with the timecode of a master, or what it begins with."""
    if subject.master.is_dir():
        return _of_stills(subject)
    start = stated(subject.master).timecode
    if start is None:
        weight: Weight = "caution" if subject.span is None else "fault"
        return Findings.of([_finding("The file states no timecode.", weight)])
    start = one_line(start)
    return Findings.of(_of_start(start, subject), [f"Timecode begins at {start} and runs with the frames."])


def _of_start(start: str, subject: Subject) -> Iterator[Finding]:
    span = subject.span
    try:
        frame_of_timecode(start, subject.rate, drops=span.drops if span else ";" in start)
    except BadInput as error:
        yield _finding(
            f"The file's timecode is none at {subject.rate} frames a second: {clause(error)}.", "fault"
        )
        return
    if span is not None and start.replace(";", ":") != span.timecode(0).replace(";", ":"):
        yield _finding(f"Timecode begins at {start}; the record has {span.timecode(0)}.", "fault")
    elif span is not None and start != span.timecode(0):
        yield _finding(
            f"Timecode is written {start}, which the record counts as {span.timecode(0)}.", "caution"
        )


def _of_stills(subject: Subject) -> Findings:
    """Each still has its own: it has to be that of its frame."""
    codes = {number: _of_still(path) for number, path in still_files(subject.master).items()}
    first, start = next(((number, code) for number, code in codes.items() if code), (0, None))
    if start is None:
        return Findings.of((), ["The stills carry no timecode."])
    meant = _counting(subject, first, start)
    off = {number: 0.0 for number, code in codes.items() if code != meant(number)}
    runs = (_of_run(run, codes[run.first], subject) for run in runs_of(off, gap=0))
    return Findings.of(runs, [f"Timecode begins at {start} and runs unbroken from still to still."])


def _counting(subject: Subject, first: int, start: str) -> Callable[[int], str]:
    """Return what tells the timecode that each still has to carry."""
    if subject.span is not None:
        return subject.span.timecode
    return counted_from(start, subject.rate, first) or (lambda _: start)


def _of_run(run: Run, code: str | None, subject: Subject) -> Finding:
    verb = "carries" if run.count == 1 else "carry"
    how = f"{verb} the timecode {code}, which breaks the count" if code else f"{verb} no timecode"
    return subject.names.finding("timecode", run.first, run.stop, how, rule=RULE, source=SOURCE)


def _of_still(path: Any) -> str | None:
    file: Any = oiio.ImageInput.open(utf8_name(path))
    if not file:
        return None
    found = still_timecode(file.spec())
    file.close()
    return found


def _finding(text: str, weight: Weight) -> Finding:
    return Finding("timecode", sentence(text), rule=RULE, source=SOURCE, weight=weight)
