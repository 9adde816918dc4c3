"""A finished master checked: by what watches its pictures, and by what its files say of themselves."""

from __future__ import annotations

from collections.abc import Callable, Collection
from fractions import Fraction
from typing import Any, Final

import av
import OpenImageIO as oiio

from lamphouse.graph.check.findings import Finding, Findings
from lamphouse.graph.check.looking import Looking
from lamphouse.graph.check.parts import FILES, SOUND, watches_of
from lamphouse.graph.check.subject import Subject
from lamphouse.graph.check.times import of_times
from lamphouse.graph.media.master.decoded import Broken, Picture
from lamphouse.graph.media.master.read_back import decoded
from lamphouse.graph.media.master.stills_back import still_files
from lamphouse.graph.progress import Step
from lamphouse.nodes.errors import BadInput, Stopped
from lamphouse.nodes.one_line import one_line, sentence
from lamphouse.nodes.regular_file import utf8_name

GUIDANCE: Final = (
    "What is found good here is guidance and no certificate: the rules of the place that it goes to, and the "
    "testing that is licensed there, decide."
)


def check(subject: Subject, parts: Collection[str], step: Step, is_asked: Callable[[], bool]) -> Findings:
    """Return what the `parts` of a check find in a master.

    Raises Stopped once `is_asked` says so, and BadInput where a folder holds no stills.
    """
    found = Findings()
    watches = watches_of(subject, parts)
    if watches:
        found.join(_pictures(subject, looking_for(subject, watches), step, is_asked))
    found.join(check_files(subject, parts, is_asked))
    return found


def check_files(
    subject: Subject, parts: Collection[str], is_asked: Callable[[], bool] = lambda: False
) -> Findings:
    """Return what the files of a master show without its pictures. Raises Stopped once `is_asked` says so."""
    found, reasons = Findings(), dict[str, None]()
    for name, look in FILES.items():
        try:
            found.join(look(subject) if name in parts else Findings())
        except (BadInput, av.FFmpegError, OSError) as error:  # said once, whoever meets it
            reasons[one_line(getattr(error, "strerror", None) or str(error))] = None
    found.add(Finding("unreadable", sentence(reason)) for reason in reasons)
    for name, hear in SOUND.items():
        if name in parts:
            found.join(hear(subject, is_asked))
    return found


def looking_for(subject: Subject, watches: Any) -> Looking:
    """Return what shows the pictures of `subject` to `watches`."""
    bits = _still_bits(subject) if subject.delivery is None and subject.master.is_dir() else 16
    return Looking(watches, subject.delivery, meant=subject.meant, codec=subject.codec, bits=bits)


def _pictures(subject: Subject, looking: Looking, step: Step, is_asked: Callable[[], bool]) -> Findings:
    found, times, number = Findings(), list[Fraction | None](), 0
    try:
        for part in decoded(subject.master):
            if is_asked():
                raise Stopped(f"Stopped after {number} frames of {subject.master.name}; nothing was changed.")
            if isinstance(part, Picture):
                looking.decoded(number, part.codes)
                times.append(part.time)
                number += 1
            elif isinstance(part, Broken):
                stop = number + max(part.frames, 1)
                found.add([subject.names.finding("broken", number, stop, part.how)])
                times += [None] * part.frames
                number += part.frames
            step(number, max(subject.frames, number))
    except (av.FFmpegError, OSError) as error:
        found.add([_ended(subject, number, error)])
    found.add(_number(subject, number))
    found.add(of_times(_from_the_first(times, subject), range(len(times)), subject.rate, subject.names))
    found.add(looking.found(subject.names))
    found.said += looking.said()
    return found


def _from_the_first(times: list[Fraction | None], subject: Subject) -> list[Fraction | None]:
    """Return times as they are where a record has frame 0 at 0, else from that of the first frame on."""
    first = next((time for time in times if time is not None), None)
    if subject.record is not None or first is None:
        return times
    return [None if time is None else time - first for time in times]


def _number(subject: Subject, number: int) -> list[Finding]:
    if subject.record is None or number == subject.frames:
        return []
    text = f"The master holds {number} pictures, where its record has {subject.frames}."
    return [Finding("number", sentence(text), rule="the delivery")]


def _ended(subject: Subject, number: int, error: av.FFmpegError | OSError) -> Finding:
    reason = one_line(error.strerror or str(error))
    text = f"{subject.master} cannot be read from {subject.names.within(number)} on ({reason})."
    return Finding("unreadable", sentence(text), **subject.names.place(number, number + 1))


def _still_bits(subject: Subject) -> int:
    first = next(iter(still_files(subject.master).values()))
    file: Any = oiio.ImageInput.open(utf8_name(first))
    if not file:
        return 16
    bits = int(file.spec().get_int_attribute("oiio:BitsPerSample", 16))
    file.close()
    return bits
