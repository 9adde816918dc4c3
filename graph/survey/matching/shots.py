"""The shots of a reel's cues, read to be matched, and what is found written into those cues.

A shot is looked at where one setting holds in it: from its cue up to where another begins to arrive.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.cues.settings import Controls, CueList
from lamphouse.graph.edits.cues import cue_at, cue_holding, set_cue
from lamphouse.graph.grade.grade import show
from lamphouse.graph.grade.probe import Probe, Sample
from lamphouse.graph.media.statistics.statistics import spread
from lamphouse.graph.media.statistics.view import View
from lamphouse.graph.reel.counters import counter
from lamphouse.graph.reel.records import Cue, Reel
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.survey.matching.knobs import knobs_of, switched_on
from lamphouse.graph.survey.matching.match import Graded, Shown, lab_of
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.values import Value

if TYPE_CHECKING:
    from lamphouse.graph.media.scan.scan import Scan, Source
    from lamphouse.graph.progress import Step

Picture = NDArray[Any]  # (3, h, w) of the scan's own signal
FRAMES: Final = 5  # of each shot that are looked at
ROWS, COLUMNS = 18, 24  # of each: with five of them 2,160 colours a shot


def cue_of(reel: Reel, frame: int) -> Cue:
    """Return the cue that holds at `frame`. Raises BadInput before the first."""
    cue = cue_holding(reel, frame)
    if cue is None:
        at = counter(reel).readings(frame).timecode
        raise BadInput(f"No cue holds at {at}; set one there first, with `lamphouse cue`.")
    return cue


def steady(opened: OpenedReel, cue: Cue) -> range:
    """Return the frames over which the settings of `cue` hold as they are."""
    until = CueList(opened.reel.cues, opened.controls()).steady_until(cue.frame)
    return range(cue.frame, opened.reel.scan.frames if until is None else until)


def pictures_of(
    opened: OpenedReel, cues: Sequence[Cue], step: Step | None = None
) -> list[tuple[Picture, ...]]:
    """Return some frames of the shot of each cue, reduced, (3, 18, 24). `step` is told how far it has come.

    Frames that cannot be read are passed over. Raises BadInput for a shot of which none can.
    """
    wanted = [spread(steady(opened, cue), FRAMES) for cue in cues]
    total, done = sum(map(len, wanted)), 0
    found = []
    with opened.open_scan(any_order=True) as scan:
        for frames in wanted:
            pictures = []
            for frame in frames:
                pictures += _read(scan, frame)
                done += 1
                if step is not None:
                    step(done, total)
            if not pictures:
                scan.read(frames[0])  # says what is wrong with it
            found.append(tuple(pictures))
    return found


def _read(scan: Scan, frame: int) -> list[Picture]:
    try:
        return [reduced(scan.read_coded(frame))]
    except BadInput:
        return []


def reduced(source: Source) -> Picture:
    """Return the means of a picture over a grid, (3, 18, 24)."""
    fine = View(source).picture
    _, rows, columns = fine.shape
    cells = fine.reshape(3, ROWS, rows // ROWS, COLUMNS, columns // COLUMNS)
    return np.asarray(cells.mean(axis=(2, 4)))


def shot_of(opened: OpenedReel, cue: Cue, pictures: Sequence[Picture]) -> Graded:
    """Return the shot of a cue, by `pictures` of the scan, under its settings.

    Raises BadInput for a chain that is not whole, or has nothing to match with.
    """
    controls = opened.controls()
    settings = controls.effective(controls.check(cue.settings, ""))
    knobs = knobs_of(opened, controls, settings)
    return Graded(Probe(opened.program(), settings), samples_of(opened, pictures), knobs)


def samples_of(opened: OpenedReel, pictures: Sequence[Picture]) -> list[Sample]:
    """Return pictures of the scan as samples of the chain."""
    shape = opened.reel.scan.aspect
    return [
        Sample(np.asarray(picture, np.float64), shape * picture.shape[1] / picture.shape[2])
        for picture in pictures
    ]


def still(path: Path) -> Shown:
    """Return a still in a file, as a screen shows it: by its tags, else as its kind is usually meant.

    Raises BadInput for what cannot be read.
    """
    from lamphouse.graph.edits.scan_colour import taken
    from lamphouse.graph.media.master.still import still_colour
    from lamphouse.graph.media.scan.open import open_scan
    from lamphouse.graph.media.scan.stills import StillScan

    with open_scan(path) as scan:
        if not isinstance(scan, StillScan) or path.is_dir():
            raise BadInput(f"{path} is no still; give one picture, such as a .png or a .tif.")
        frame = next(n for n, file in scan.sequence.files.items() if file.name == path.name)
        says = scan.stated.transfer is not None
        colour = taken(scan.stated, None, None) if says else still_colour(path, None, None)
        return shown(show(scan.read_coded(frame), colour))


def shown(video: Picture) -> Shown:
    """Return a picture of video signal, (3, h, w), to bring others to."""
    return Shown(lab_of(reduced(np.asarray(video, np.float32)).reshape(3, -1)))


def with_settings(reel: Reel, found: Mapping[int, Mapping[str, Value]], controls: Controls) -> Reel:
    """Return `reel` with settings laid over those of its cues, by their frames, and what is off switched on.

    Raises BadInput where a cue is gone.
    """
    for frame, settings in found.items():
        cue = cue_at(reel, frame)
        if cue is None:
            raise BadInput(f"The cue at frame {frame} is not there any more; match anew.")
        reel = set_cue(reel, frame, controls, switched_on(cue.settings, settings, controls))
    return reel
