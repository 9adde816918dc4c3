"""The sound of a master against the checksums of its seconds."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.check.decoding import Decoded
from lamphouse.graph.check.findings import Finding, Names
from lamphouse.graph.media.codes.sums import SecondSums
from lamphouse.graph.media.master.decoded import decoded_sound
from lamphouse.graph.media.master.record import SoundSums

TRIED: Final = 3  # seconds in which a sound that was moved is looked for
FAR: Final = Fraction(1, 24)  # seconds by which it is looked for, either way: a frame


def of_sound(
    path: Path, meant: SoundSums, found: Decoded, *, names: Names, rate: Fraction, origin: str
) -> Iterator[Finding]:
    """Yield what is wrong with the sound of the master at `path`, whose frames have the `rate`.

    `origin` says whose sound it should be, as `that of the record`.
    """
    heard = found.sound or SecondSums(meant.rate)
    place = _Place(names, rate)
    if heard.rate != meant.rate:
        yield Finding("sound rate", f"The sound has {heard.rate} samples a second, not {meant.rate}.")
        return
    if heard.samples != meant.samples:
        yield _length(heard, meant, place)
    wrong = [
        n for n, (one, other) in enumerate(zip(heard.all(), meant.seconds, strict=False)) if one != other
    ]
    if heard.samples != meant.samples:  # its last second is another length, and said to be
        wrong = [n for n in wrong if n + 1 < len(heard.all())]
    if wrong:
        yield _moved(path, meant, wrong, place) or _differs(wrong, place, origin)
    for sample, late in found.misplaced:
        frame = place.frame(Fraction(sample, meant.rate))
        text = f"The sound is placed {_late(late)}, from {names.within(frame)} on."
        yield Finding("sound place", text, **names.place(frame, frame + 1))


class _Place:
    """Which frame of the master stands beside a time of its sound."""

    def __init__(self, names: Names, rate: Fraction) -> None:
        self.names, self.rate = names, rate

    def frame(self, seconds: Fraction) -> int:
        return int(seconds * self.rate)

    def finding(self, kind: str, first: int, stop: int, text: str) -> Finding:
        """Return a finding of the seconds [first, stop) of sound."""
        frames = self.frame(Fraction(first)), max(self.frame(Fraction(stop)), 1)
        return Finding(kind, f"{text}, at {self.names.within(frames[0])}.", **self.names.place(*frames))


def _length(heard: SecondSums, meant: SoundSums, place: _Place) -> Finding:
    off = heard.samples - meant.samples
    frame = place.frame(Fraction(min(heard.samples, meant.samples), meant.rate))
    where = f"ends at {place.names.within(frame)}" if off < 0 else "goes on after its end"
    text = f"The sound has {heard.samples} samples, not {meant.samples}: it {where}."
    return Finding("sound length", text, **place.names.place(frame, frame + 1))


def _differs(wrong: list[int], place: _Place, origin: str) -> Finding:
    last = _run_end(wrong)
    more = len(wrong) - (last + 1 - wrong[0])
    seconds = f"second {wrong[0]}" if last == wrong[0] else f"seconds {wrong[0]} to {last}"
    others = f" and in {more} more" if more else ""
    text = f"The sound differs from {origin} in {seconds}{others}"
    return place.finding("sound differs", wrong[0], last + 1, text)


def _run_end(wrong: list[int]) -> int:
    last = wrong[0]
    for second in wrong[1:]:
        if second != last + 1:
            break
        last = second
    return last


def _moved(path: Path, meant: SoundSums, wrong: list[int], place: _Place) -> Finding | None:
    """Return by how many samples the sound was moved, where it was."""
    far = int(meant.rate * FAR)
    for second in wrong[:TRIED]:
        start = second * meant.rate
        samples, first = _around(decoded_sound(path), start - far, start + meant.rate + far)
        off = _offset(samples, start - first, meant.rate, meant.seconds[second])
        if off is not None:
            text = f"The sound lies {abs(off)} samples too {'late' if off > 0 else 'early'} from second"
            text = text.replace("1 samples", "1 sample") if abs(off) == 1 else text
            return place.finding("sound moved", second, second + 1, f"{text} {second} on")
    return None


def _around(parts: Iterable[Any], start: int, stop: int) -> tuple[NDArray[Any], int]:
    """Return the samples from `start` to `stop`, as far as there are such, and the number of the first."""
    at, kept, first = 0, [], max(start, 0)
    for part in parts:
        block = part.samples[max(first - at, 0) : max(stop - at, 0)]
        at += len(part.samples)
        if len(block):
            kept.append(block)
        if at >= stop:
            break
    return (np.concatenate(kept) if kept else np.zeros((0, 1), np.int16)), first


def _offset(samples: NDArray[Any], due: int, length: int, meant: str) -> int | None:
    """Return how far from `due` the second lies whose checksum is `meant`, the nearest first."""
    places = [place for place in range(len(samples) - length + 1) if place != due]
    for place in sorted(places, key=lambda place: abs(place - due)):
        data = np.ascontiguousarray(samples[place : place + length]).data
        if hashlib.md5(data, usedforsecurity=False).hexdigest() == meant:
            return place - due
    return None


def _late(seconds: Fraction) -> str:
    return f"{float(abs(seconds)):.3f} s {'late' if seconds > 0 else 'early'}"
