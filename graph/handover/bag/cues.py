"""Each cue of a master for other people's tools: LUTs, CDLs, stills, and what none of them carries."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from lamphouse.graph.cues.words import beginning_text, cue_text, settings_text
from lamphouse.graph.files.plain_name import plain_name
from lamphouse.graph.grade.grade import Grade, show_as_scanned
from lamphouse.graph.handover.bag.uncarried import Uncarried, uncarried, without_places
from lamphouse.graph.handover.cue_cdl import CueCdl
from lamphouse.graph.handover.cue_lut import write_lut
from lamphouse.graph.handover.reel_pixels import held_frames
from lamphouse.graph.media.codes.placing import unplaced
from lamphouse.graph.media.master.still import write_still
from lamphouse.graph.reel.counters import counter

if TYPE_CHECKING:
    from lamphouse.graph.handover.lists.shots import Shot
    from lamphouse.graph.media.scan.scan import Scan
    from lamphouse.graph.reel.records import Cue
    from lamphouse.graph.reel_files.opened import OpenedReel

LONGEST: Final = 60  # characters of a cue's name in that of a file
LUTS: Final = (".clf", ".cube")


@dataclass(frozen=True, slots=True)
class HandedCue:
    """A cue as it is handed over: what its files are called, what they cost, and what they do not carry."""

    number: int
    cue: Cue
    stem: str
    exactness: tuple[str, ...]
    left: tuple[Uncarried, ...]


def hand_over_cue(folder: Path, opened: OpenedReel, shot: Shot, scan: Scan | None) -> HandedCue:
    """Write the LUTs and stills of the cue of `shot` into `folder` and return what they are.

    Stills are left out where there is no scan. Raises BadInput where a file cannot be written.
    """
    cue = opened.reel.cues[shot.number - 1]
    stem = f"{shot.number:03}-{plain_name(cue.name, 'cue')[:LONGEST]}"
    carried = without_places(opened)
    shown = carried.reel.cues[shot.number - 1]
    told = [_told(carried, shown, folder / f"{stem}{ending}") for ending in LUTS]
    told.append(f"CDL: {shot.cdl.exactness if isinstance(shot.cdl, CueCdl) else f'none, for {shot.cdl}'}.")
    if scan is not None:
        write_stills(folder, stem, opened, cue, scan)
    return HandedCue(shot.number, cue, stem, tuple(told), tuple(uncarried(opened, cue, scan)))


def _told(opened: OpenedReel, cue: Cue, path: Path) -> str:
    """Write a LUT and return what is to be said of it without its folder."""
    return write_lut(opened, cue, path).sentence.removeprefix(f"{path.parent}/")


def write_stills(folder: Path, stem: str, opened: OpenedReel, cue: Cue, scan: Scan) -> None:
    """Write the frame in the middle of `cue`, as scanned and graded, in the encodings that README states."""
    frames = held_frames(opened.reel, cue)
    frame = frames[len(frames) // 2]
    scanned = scan.read(frame)
    write_still(folder / f"{stem}-scanned.png", show_as_scanned(opened.reel, scanned))
    with Grade(opened) as grade:
        graded = unplaced(opened.reel).place(
            grade.correct(frame, scanned), grade.framing(frame), grade.weighted
        )
    for ending in (".png", ".exr"):
        write_still(folder / f"{stem}-graded{ending}", graded)


def document(cues: Sequence[HandedCue], opened: OpenedReel) -> list[dict[str, Any]]:
    """Return what is known of the cues, for programs."""
    counters = counter(opened.reel)
    return [
        {
            "number": one.number,
            "name": one.cue.name,
            "file": one.stem,
            **asdict(counters.readings(one.cue.frame)),
            "begins": beginning_text(one.cue),
            "settings": settings_text(one.cue),
            "exactness": list(one.exactness),
            "not_carried": [asdict(each) for each in one.left],
        }
        for one in cues
    ]


def lines(cues: Sequence[HandedCue]) -> Iterator[str]:
    """Yield what no LUT carries, by cue, in words."""
    for one in cues:
        if one.left:
            yield f"{cue_text(one.number, one.cue)} ({one.stem}):"
            yield from (f"  {each.sentence}" for each in one.left)
