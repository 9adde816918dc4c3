"""The sound of a master checked: there, loud enough and not too loud, whole, on all of its channels."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction
from math import inf, log10
from typing import Any, Final

import av
import numpy as np

from lamphouse.graph.check.findings import Finding, Findings, Weight
from lamphouse.graph.check.hearing.channels import A_SECOND, Pieces, stretches
from lamphouse.graph.check.hearing.ear import Ear
from lamphouse.graph.check.hearing.meter import GATE, Loudness
from lamphouse.graph.check.hearing.targets import TARGETS, Target
from lamphouse.graph.check.hearing.tracks import Heard, Programme, Track, blocks, open_heard
from lamphouse.graph.check.runs import runs_of
from lamphouse.graph.check.subject import Subject
from lamphouse.graph.media.sound.write import LOSSLESS_SOUND
from lamphouse.nodes.errors import Stopped
from lamphouse.nodes.one_line import one_line, sentence

INVERTED: Final = -0.9  # correlation of a whole programme from which on a channel is upside down. Invented
AGAINST: Final = -0.5  # correlation from which on a passage loses much in mono. Common practice, no source
A_PASSAGE: Final = 2 * A_SECOND  # pieces that such a passage lasts at least. Invented
ROUGH: Final = -20.0  # dBTP below which a peak is not told to a tenth, for it is not measured so
CODED: Final = 2048  # samples by which a coding that loses some may be longer or shorter: two frames of AAC


def hearing(subject: Subject, is_asked: Callable[[], bool] = lambda: False) -> Findings:
    """Return what is found of the sound of a master. Pictures are not decoded for it.

    Raises Stopped once `is_asked` says so.
    """
    found = Findings()
    try:
        opened = open_heard(subject.master)
        if opened is None:
            found.add([_none(subject)])
            return found
        _hear(subject, *opened, found, is_asked)
    except (av.FFmpegError, OSError) as error:
        reason = one_line(getattr(error, "strerror", None) or str(error))
        found.add([Finding("sound unreadable", sentence(f"The sound cannot be read to its end ({reason})."))])
    return found


def _none(subject: Subject) -> Finding:
    record = subject.record
    is_due = record is not None and (record.sound is not None or "the sound's coding" in record.facts)
    said = ", and its record says that it was given some; transfer it again" if is_due else ""
    weight: Weight = "fault" if is_due else "note"
    return Finding("no sound", f"There is no sound in {one_line(subject.master.name)}{said}.", weight=weight)


def _hear(
    subject: Subject, container: Any, heard: Heard, found: Findings, is_asked: Callable[[], bool]
) -> None:
    ears = [Ear(programme, subject) for programme in heard.programmes]
    for programme, block in blocks(container, heard):
        if is_asked():
            raise Stopped(f"Stopped while {subject.master.name} was heard; nothing was changed.")
        ears[heard.programmes.index(programme)].add(block)
    for ear in ears:
        pieces, loudness = ear.end()
        for track in ear.programme.tracks:
            found.add(_of_track(track, heard, subject))
        found.add(_of_channels(ear, pieces, subject))
        if loudness is not None:
            target = TARGETS[str(subject.settings["sound.target"])]
            found.add(_of_loudness(ear, loudness, target, subject))
            found.said.append(_measured(ear, loudness))
        else:
            found.said.append(f"{ear.programme.words} is laid out as nothing that loudness is measured of.")


def _measured(ear: Ear, loudness: Loudness) -> str:
    one = ear.programme
    how = {"mono": ", measured as one channel"}.get(one.layout, "")
    if _is_unplaced(one):
        how = ", nobody says where its channels stand, so that all weigh the same"
    what = f"{one.words} ({one.layout}, {one.rate} Hz{how})"
    if loudness.integrated == -inf:
        return f"{what} has no loudness: it is silent or too short."
    long = f" and {loudness.short_term:.1f} in 3 s" if loudness.short_term > GATE else ""
    return (
        f"{what} has {loudness.integrated:.1f} LUFS, a range of {loudness.range_:.1f} LU, at most "
        f"{loudness.momentary:.1f} LUFS in 400 ms{long}, and a true peak of {_peak(loudness)} dBTP "
        "(ITU-R BS.1770, EBU R 128)."
    )


def _is_unplaced(programme: Programme) -> bool:
    return programme.layout.endswith(" channels")


def _peak(loudness: Loudness) -> str:
    return f"{loudness.peak:+.1f}" if loudness.peak > ROUGH else f"{loudness.peak:+.0f}"


def _of_track(track: Track, heard: Heard, subject: Subject) -> Iterator[Finding]:
    """Yield packets that are broken, and a length that is not that of the pictures."""
    what = f"The sound of track {track.number + 1}"
    if track.broken:
        yield Finding("broken sound", f"{what} has {track.broken} packets that cannot be decoded.")
    known = Fraction(subject.frames) / subject.rate if subject.frames else None
    pictures = heard.pictures or known
    if pictures is None:
        return
    allowed = 1 / subject.rate + (0 if track.codec in LOSSLESS_SOUND else Fraction(CODED, track.rate))
    begins = track.starts or Fraction(0)
    off = begins + Fraction(track.samples, track.rate) - pictures
    if abs(off) > allowed:
        how = "after" if off > 0 else "before"
        text = f"{what} ends {float(abs(off)):.3f} s {how} the pictures"
        yield Finding("sound length", f"{text}; see whether that is meant.", weight="caution")
    if begins > allowed:
        text = f"{what} begins {float(begins):.3f} s after the pictures; see whether that is meant."
        yield Finding("sound length", text, weight="caution")


def _of_loudness(ear: Ear, loudness: Loudness, target: Target, subject: Subject) -> Iterator[Finding]:
    asked: dict[str, Any] = {"rule": target.rule, "source": target.source}
    if loudness.peak > target.peak:
        at = Fraction(loudness.peak_at * A_SECOND)
        first, stop = ear.frames(at, at + 1)
        text = f"{_has(first, stop)} a true peak of {loudness.peak:+.1f} dBTP, where {target.rule} allows"
        text = f"{text} {target.peak:+g}; lower the sound"
        yield subject.names.finding("true peak", first, stop, text, **asked)
    off = abs(loudness.integrated - target.loudness)
    if target.tolerance < off < inf and not _is_unplaced(ear.programme):
        text = f"{ear.programme.words} has {loudness.integrated:.1f} LUFS, where {target.rule} asks for"
        text = f"{text} {target.loudness:g}, give or take {target.tolerance:g}."
        yield Finding("loudness", text, weight="caution", **asked)


def _of_channels(ear: Ear, pieces: Pieces, subject: Subject) -> Iterator[Finding]:
    level = 10 ** (float(subject.settings["sound.silence"]) / 20)
    names, one = subject.names, ear.programme
    loud = pieces.peaks.max(axis=0) > level
    if not loud.any():
        limit = f"{20 * log10(level):g} dBFS"
        yield Finding("silent", f"{one.words} is silent: nothing in it is louder than {limit}.")
        return
    yield from _dead(ear, pieces, level)
    for start, end in _silences(loud, float(subject.settings["sound.seconds"])):
        first, stop = ear.frames(start, end)
        text = f"{_has(first, stop)} no sound for {(end - start) / A_SECOND:.1f} s"
        yield names.finding("silence", first, stop, text, weight="caution")
    yield from _clipped(ear, pieces, subject)
    yield from _phase(ear, pieces, loud, subject)


def _dead(ear: Ear, pieces: Pieces, level: float) -> Iterator[Finding]:
    one = ear.programme
    for channel, peaks in zip(av.AudioLayout(one.layout).channels, pieces.peaks, strict=False):
        if channel.name != "LFE" and peaks.max() <= level:
            weight: Weight = "fault" if len(pieces.peaks) == 2 else "caution"
            text = f"{one.words} has nothing in one channel ({channel.description}), where others sound."
            yield Finding("dead channel", text, weight=weight)


def _silences(loud: Any, seconds: float) -> Iterator[tuple[int, int]]:
    """Yield the silences within the sound, not those before and after it."""
    first, last = int(np.argmax(loud)), len(loud) - 1 - int(np.argmax(loud[::-1]))
    for start, stop in stretches(~loud[first:last], max(1, round(seconds * A_SECOND))):
        yield first + start, first + stop


def _clipped(ear: Ear, pieces: Pieces, subject: Subject) -> Iterator[Finding]:
    counts: dict[int, float] = {}
    for piece in np.flatnonzero(pieces.clipped).tolist():
        frame = ear.frames(piece, piece + 1)[0]
        counts[frame] = counts.get(frame, 0) + float(pieces.clipped[piece])
    for run in runs_of(counts, gap=int(subject.rate)):
        total = sum(count for frame, count in counts.items() if run.first <= frame < run.stop)
        text = (
            f"{_has(run.first, run.stop)} sound that is cut off at full scale, in {total:g} samples or more"
        )
        yield subject.names.finding("clipped sound", run.first, run.stop, text, weight="caution")


def _has(first: int, stop: int) -> str:
    return "has" if stop - first == 1 else "have"


def _phase(ear: Ear, pieces: Pieces, loud: Any, subject: Subject) -> Iterator[Finding]:
    one = ear.programme
    if [channel.name for channel in av.AudioLayout(one.layout).channels[:2]] != ["FL", "FR"]:
        return
    if pieces.overall <= INVERTED and loud.sum() >= A_PASSAGE:
        text = f"{one.words} has left and right inverted to each other (correlation {pieces.overall:.2f})"
        yield Finding("phase", f"{text}: in mono they cancel, so invert one of them.")
        return
    for first, stop in stretches((pieces.correlation < AGAINST) & loud, A_PASSAGE):
        text = (
            f"have left and right against each other for {(stop - first) / A_SECOND:.1f} s, and lose in mono"
        )
        yield subject.names.finding("phase", *ear.frames(first, stop), text, weight="caution")
