"""What of a cue no LUT carries, and what leaving it out costs, seen on the reel's own pictures.

Each is the reel without it. Both are made into pictures, and their difference is measured.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from typing import Any, Final

import msgspec
import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.order import ordered
from lamphouse.graph.chain.resolve import resolve
from lamphouse.graph.edits.cues import next_cue, node_of
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.handover.reel_pixels import held_frames, spread
from lamphouse.graph.media.codes.framing import NEUTRAL
from lamphouse.graph.media.codes.placing import unplaced
from lamphouse.graph.media.scan.scan import Scan
from lamphouse.graph.reel.records import Cue, Reel
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.declare import Signal
from lamphouse.nodes.framing import FRAMING
from lamphouse.nodes.lab import lab_of_video

PIXELS: Final = 8000  # of a picture that are compared

Colours = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Uncarried:
    """Something of a cue that no LUT carries: what, and its CIEDE2000, None where no scan is there to tell.

    `mean` is over pictures and pixels, `largest` of the mean of a whole picture.
    """

    what: str
    mean: float | None = None
    largest: float | None = None

    @property
    def sentence(self) -> str:
        """What it is and what it costs, in words."""
        if self.mean is None:
            return f"{self.what}; what that costs cannot be told without the scan."
        return f"{self.what}; CIEDE2000 {self.mean:.2f} in the mean, {self.largest:.2f} in the worst frame."


def without_places(opened: OpenedReel) -> OpenedReel:
    """Return the reel with all switched off, in every cue, that depends on the place in the picture.

    A matte stays; what takes it does not, for a matte that is neutral would let a correction act everywhere.
    """
    off = {f"{name}.on": "off" for name in _placed(opened)}
    if not off:
        return opened
    cues = (msgspec.structs.replace(cue, settings=cue.settings | off) for cue in opened.reel.cues)
    return opened.with_reel(msgspec.structs.replace(opened.reel, cues=tuple(cues)))


def _placed(opened: OpenedReel) -> Iterator[str]:
    """Yield the nodes that correct by place: that reach further than a pixel, or take such a matte."""
    mattes = set(opened.program().beyond_point())
    for ref in ordered(opened.reel.chain, opened.catalogue):
        node = resolve(ref, opened.catalogue)
        taken = {source for name, source in zip(node.inputs, ref.inputs, strict=True) if name in node.mattes}
        if node.signal is Signal.MATTE:
            mattes |= {ref.name} if mattes & set(ref.inputs) else set()
        elif ref.name in mattes or taken & mattes:
            yield ref.name


def uncarried(opened: OpenedReel, cue: Cue, scan: Scan | None) -> list[Uncarried]:
    """Return what of `cue` no LUT carries, measured on the pictures of `scan` where it is there."""
    with ExitStack() as stack:
        whole = stack.enter_context(Grade(opened))
        found = []
        for what, reel, frames in _left_out(opened, cue, whole):
            if scan is None:
                found.append(Uncarried(what))
                continue
            with Grade(opened.with_reel(reel)) as less:
                costs = [_cost(whole, less, opened.reel, scan, frame) for frame in frames]
            found.append(Uncarried(what, float(np.mean(costs)), max(costs)))
    return found


def _left_out(opened: OpenedReel, cue: Cue, grade: Grade) -> Iterator[tuple[str, Reel, list[int]]]:
    """Yield what a LUT of `cue` leaves out, the reel without it, and the frames that show it."""
    reel = opened.reel
    stop = next_cue(reel, cue.frame) or reel.scan.frames
    held = held_frames(reel, cue)
    still = opened.with_reel(msgspec.structs.replace(reel, tracks=()))
    with Grade(still) as unmoved:
        if names := unmoved.beyond_point(cue.frame):
            yield f"Corrections by area ({', '.join(names)})", without_places(opened).reel, held
    if grade.framing(cue.frame) != NEUTRAL:
        yield "Framing", _unframed(reel), held
    over = [track for track in reel.tracks if track.is_on and track.frame < stop and cue.frame < track.stop]
    if over:
        first, last = min(track.frame for track in over), max(track.stop for track in over)
        frames = spread(max(cue.frame, first), min(stop, last))
        yield "What tracks move from frame to frame", msgspec.structs.replace(reel, tracks=()), frames
    if cue.begins == "transition":
        yield (
            f"The transition of {cue.length} frames into it",
            _cut(reel, cue),
            spread(cue.frame - cue.length + 1, cue.frame),
        )


def _unframed(reel: Reel) -> Reel:
    cues = tuple(
        msgspec.structs.replace(
            cue, settings={key: value for key, value in cue.settings.items() if node_of(key) != FRAMING}
        )
        for cue in reel.cues
    )
    tracks = tuple(track for track in reel.tracks if node_of(track.parameter) != FRAMING)
    return msgspec.structs.replace(reel, cues=cues, tracks=tracks)


def _cut(reel: Reel, cue: Cue) -> Reel:
    """Return the reel with `cue` arriving by a cut: what the LUTs of both cues make of its transition."""
    cut = msgspec.structs.replace(cue, begins="cut", length=0)
    return msgspec.structs.replace(reel, cues=tuple(cut if one is cue else one for one in reel.cues))


def _cost(one: Grade, other: Grade, reel: Reel, scan: Scan, frame: int) -> float:
    """Return the mean CIEDE2000 between what two grades make of a frame.

    Source: Sharma, Wu and Dalal (2005), in colour-science.
    """
    scanned = scan.read(frame)
    labs = [_lab(grade, reel, scanned, frame) for grade in (one, other)]
    return float(np.mean(colour_science().delta_E(*labs, method="CIE 2000")))


def _lab(grade: Grade, reel: Reel, scanned: Any, frame: int) -> NDArray[np.float64]:
    picture = unplaced(reel).place(grade.correct(frame, scanned), grade.framing(frame), grade.weighted)
    every = max(1, round((picture[0].size / PIXELS) ** 0.5))
    return np.asarray(lab_of_video(picture[:, ::every, ::every].reshape(3, -1).T))
