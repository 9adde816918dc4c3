"""Sound beside new frames of a finished master, in place of the old."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import Final

import numpy as np
import soundfile

from lamphouse.graph.media.codes.sums import SecondSums
from lamphouse.graph.media.master.decoded import decoded_sound, decoded_wave
from lamphouse.graph.media.master.record import SoundSums
from lamphouse.graph.media.sound.read import sample_at
from lamphouse.nodes.errors import CheckFailed

BLOCK: Final = 1 << 16  # samples at a time


def new_wave(old: Path, pieces: Sequence[tuple[range, Path]], rate: Fraction, new: Path) -> None:
    """Write at `new` what is in the WAV file `old`, with the samples of each piece beside its frames.

    Raises OSError.
    """
    try:
        with soundfile.SoundFile(old) as source:
            form = (source.samplerate, source.channels, source.subtype)
            with soundfile.SoundFile(new, "w", *form) as sink:
                for frames, path in pieces:
                    _copy(source, sink, sample_at(frames.start, rate, source.samplerate) - source.tell())
                    fresh = soundfile.read(path, dtype="int32", always_2d=True)[0]
                    source.seek(len(fresh), soundfile.SEEK_CUR)
                    sink.write(fresh)
                _copy(source, sink, source.frames - source.tell())
    except soundfile.LibsndfileError as error:
        raise OSError(str(error)) from error


def _copy(source: soundfile.SoundFile, sink: soundfile.SoundFile, samples: int) -> None:
    while samples > 0:
        block = source.read(min(samples, BLOCK), "int32", always_2d=True)
        if not len(block):
            raise OSError("the sound ends too early")
        sink.write(block)
        samples -= len(block)


def sums_of(master: Path, old: SoundSums) -> SoundSums:
    """Return the checksums of the sound in a new movie or WAV file. Raises CheckFailed for another length."""
    found = SecondSums(old.rate)
    parts = decoded_wave(master) if master.suffix == ".wav" else decoded_sound(master)
    for part in parts:
        found.add(np.asarray(part.samples))
    if found.samples != old.samples:
        raise CheckFailed(
            f"The new sound has {found.samples} samples and not {old.samples}, so the master is as it was; "
            "transfer the reel again."
        )
    return SoundSums(rate=old.rate, samples=found.samples, seconds=found.all())
