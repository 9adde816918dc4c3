"""A picture of each proposal, the film as it is beside what taking it would make of it."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from lamphouse.graph.files.folders import make_folder
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.codes.resample import resize
from lamphouse.graph.media.master.still import still_colour, write_still
from lamphouse.graph.survey.proposal import Proposal
from lamphouse.graph.survey.take import take
from lamphouse.nodes.errors import BadInput

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lamphouse.graph.media.scan.scan import Scan
    from lamphouse.graph.reel_files.opened import OpenedReel

WIDE: Final = 480  # pixels of one picture
GAP: Final = 8  # between the two
GREY: Final = 0.5  # of the gap, in video


def write_pictures(opened: OpenedReel, proposals: Iterable[Proposal], folder: Path) -> list[Path]:
    """Write a PNG for each proposal into `folder`, named by its frame and what it is; return where.

    On the left is the film as the reel has it, on the right as it would be. Raises BadInput where the disk
    refuses.
    """
    make_folder(folder, "choose another place for the pictures")
    written = []
    with opened.open_scan() as scan, Grade(opened) as grade:
        for proposal in proposals:
            frame = _shown(proposal)
            try:
                taken = opened.with_reel(take(opened, [proposal]))
                picture = _pair(scan, frame, grade, taken)
            except BadInput:  # the frame cannot be read, or what is proposed has no room by now
                continue
            path = folder / f"{proposal.frame:07} {proposal.what.replace('/', '-')}.png"
            write_still(path, picture, colour=still_colour(path, None, None))
            written.append(path)
    return written


def _shown(proposal: Proposal) -> int:
    """Return the frame that shows best what a proposal is about."""
    span = proposal.span
    return proposal.frame if proposal.kind in ("cues", "marks") else span[len(span) // 2]


def _pair(scan: Scan, frame: int, grade: Grade, taken: OpenedReel) -> NDArray[np.float32]:
    picture: Any = scan.read(frame)
    _, height, width = picture.shape
    wide = min(WIDE, width)
    small = resize(picture, wide, max(1, round(height * wide / width)), "triangle")
    with Grade(taken) as after:
        pair = [grade.correct(frame, small), after.correct(frame, small)]
    gap = np.full((3, small.shape[1], GAP), GREY, np.float32)
    return np.concatenate([pair[0], gap, pair[1]], axis=2)
