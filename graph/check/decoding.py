"""A whole master decoded for a check, which goes on after whatever is broken."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Final

import av

from lamphouse.graph.media.codes.encode_planes import component_planes
from lamphouse.graph.media.codes.pixel_layout import layout_of
from lamphouse.graph.media.codes.sums import SecondSums
from lamphouse.graph.media.master.decoded import Broken, Part, Picture, Samples
from lamphouse.graph.media.master.likeness import Means, means_of
from lamphouse.graph.media.master.read_back import decoded
from lamphouse.graph.media.scan.ffv1_checksums import slices_agree
from lamphouse.graph.progress import Step
from lamphouse.graph.reel.limits import FRAMES
from lamphouse.nodes.errors import Stopped

CLOCK: Final = Fraction(1, 1000)  # seconds: the tick of Matroska, the coarsest that sound is placed by


@dataclass(slots=True)
class Decoded:
    """What is in a master, in its order: None for a picture that could not be read.

    `broken` has the number of each such picture among them. `means` are there for a master that is compared
    by them. `misplaced` are samples from which on the container puts the sound so many seconds late. `ended`
    says why it could be read no further.
    """

    pictures: list[str | None] = field(default_factory=list)
    times: list[Fraction | None] = field(default_factory=list)
    means: list[Means | None] = field(default_factory=list)
    broken: list[tuple[int, Broken]] = field(default_factory=list)
    sound: SecondSums | None = None
    misplaced: list[tuple[int, Fraction]] = field(default_factory=list)
    ended: str = ""
    has_checksums: bool = False  # in the slices of its packets, as FFV1 may


def decode(
    path: Path, step: Step, frames: int, is_asked: Callable[[], bool], *, by_means: bool = False
) -> Decoded:
    """Decode the master at `path`, of `frames` as far as is known.

    `step` is told how far it has come. Raises Stopped once `is_asked` says so, and BadInput where there is
    no master.
    """
    found = Decoded()
    try:
        for part in decoded(path):
            if is_asked():
                raise Stopped(f"Stopped after {len(found.pictures)} frames; nothing was changed.")
            _take(found, part, by_means)
            step(min(len(found.pictures), frames), frames)
    except (av.FFmpegError, OSError) as error:
        found.ended = error.strerror or str(error)
    return found


def _take(found: Decoded, part: Part, by_means: bool) -> None:
    if isinstance(part, Picture) and _is_torn(found, part):
        part = Broken("is damaged: its bytes do not agree with the checksums of its slices")
    if isinstance(part, Picture):
        found.pictures.append(part.sum)
        found.times.append(part.time)
        if by_means:
            found.means.append(_means(part))
    elif isinstance(part, Broken):
        found.broken.append((len(found.pictures), part))
        _skip(found, min(part.frames, FRAMES))
    elif isinstance(part, Samples):
        _hear(found, part)


def _is_torn(found: Decoded, picture: Picture) -> bool:
    """Say whether the slices of an FFV1 packet disagree with their checksums, which its decoder hides."""
    packet = picture.packet
    if packet is None or packet.stream.codec_context.name != "ffv1":
        return False
    agrees = slices_agree(bytes(packet))
    found.has_checksums = found.has_checksums or agrees
    return found.has_checksums and not agrees


def _skip(found: Decoded, frames: int) -> None:
    found.pictures += [None] * frames
    found.times += [None] * frames
    found.means += [None] * frames


def _means(picture: Picture) -> Means | None:
    layout = layout_of(picture.codes.format)
    return means_of(component_planes(picture.codes, layout), layout.bits)


def _hear(found: Decoded, part: Samples) -> None:
    if found.sound is None:
        found.sound = SecondSums(part.rate)
    due = found.sound.samples
    off = Fraction(0) if part.time is None else part.time - Fraction(due, part.rate)
    last = found.misplaced[-1] if found.misplaced else (0, Fraction(0))
    if abs(off - last[1]) >= CLOCK:
        found.misplaced.append((due, off))
    found.sound.add(part.samples)
