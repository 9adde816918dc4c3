"""The main job on the invented reel: make it, set its cues, transfer, read back, report."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import msgspec

from lamphouse.graph.cues.settings import Controls, CueList
from lamphouse.graph.demo.make import Demo, make_demo
from lamphouse.graph.demo.seeds.make import make_seeded
from lamphouse.graph.edits.start import Start, start_reel
from lamphouse.graph.handover.report import write_report
from lamphouse.graph.media.master.record import load_record
from lamphouse.graph.progress import progress
from lamphouse.graph.reel.records import Cue, Delivery, Reel, Sound
from lamphouse.graph.reel.store import save
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.transfer.plan import plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput

# A second of bars, half a second of black, the reel, two seconds of black; the scan's own raster is quick.
DELIVERY: Final = Delivery(
    sentence="The demo's master: FFV1, 10-bit 4:2:2, the scan's raster.",
    container="matroska",
    codec="ffv1",
    pixel_format="yuv422p10le",
    sound=Sound(),
    bars=25,
    black_before=12,
    black_after=50,
)


def run_demo(folder: Path, width: int = 640, shorten: int = 1) -> Iterator[str]:
    """Do the whole job in `folder`, yielding a line as each part is done.

    `width` is that of the scan in pixels; `shorten` divides the length of every shot. Raises
    BadInput where the folder holds a demo already.
    """
    reel_file, master_file = _new(folder), folder / "demo-master.mkv"
    with progress("Drawing the invented reel") as step:
        made = make_demo(folder, width=width, shorten=shorten, progress=step)
    yield f"{made.scan}: {made.frames} frames of an invented film, {made.width}x{made.height}."

    opened = OpenedReel(reel_file, demo_reel(reel_file, made), Catalogue())
    save(reel_file, opened.reel)
    yield f"{reel_file}: {len(opened.reel.cues)} cues."

    pass_ = plan(opened, DELIVERY, 0, opened.reel.scan.frames)
    with progress("Transfer") as step:
        master = transfer(pass_, master_file, step)
    yield f"{master_file}: {pass_.frames} frames."

    said = master.found.sentence if master.found else ""
    yield f"Read-back: {said}"

    page = write_report(folder / "report", master_file, load_record(master_file))
    yield f"{page}: every shot before and after."


def run_seeded(folder: Path, number: int, width: int = 640, shorten: int = 1) -> Iterator[str]:
    """Make the reel of a number in `folder`, yielding a line as each part is done: a scan to be surveyed.

    Its reel document has no cue and no mark: they stand in the truth beside it. Raises BadInput where the
    folder holds a demo already.
    """
    reel_file = _new(folder)
    with progress("Drawing the invented reel") as step:
        made = make_seeded(folder, number, width=width, shorten=shorten, progress=step)
    yield f"{made.scan}: {made.frames} frames of an invented film, {made.width}x{made.height}."
    save(reel_file, _started(reel_file, made))
    yield f"{reel_file}: no cues yet; {made.truth.name} holds what a survey ought to find."


def _new(folder: Path) -> Path:
    """Return where the reel goes. Raises BadInput where a demo is: another reel may name its scan."""
    if any(folder.glob("demo*.*")):
        raise BadInput(f"{folder} holds a demo already; remove that folder, or name another.")
    return folder / "demo.reel"


def demo_reel(reel_file: Path, made: Demo) -> Reel:
    """Return the reel of the invented film, its cues set as the truth beside it says."""
    reel = _started(reel_file, made)
    truth = json.loads(made.truth.read_text())
    controls = Controls(reel.chain, Catalogue())
    cues = (*_shot_cues(truth, controls), *_change_cues(truth, controls))
    return msgspec.structs.replace(
        reel,
        head_mark=made.head_mark,
        cues=CueList(cues, controls).cues,
    )


def _started(reel_file: Path, made: Demo) -> Reel:
    start = Start(made.scan, made.sound, made.rate, made.gauge, encoding="video")
    reel = start_reel(reel_file, start).reel
    return msgspec.structs.replace(reel, deliveries={"demo": DELIVERY})


def _shot_cues(truth: dict[str, Any], controls: Controls) -> Iterator[Cue]:
    begins = {change["shot"]: change["begin"] for change in truth["transitions"]}
    for shot in truth["shots"]:
        settings = begins.get(shot["name"], shot["settings"])
        yield Cue(frame=shot["first"], name=shot["name"], settings=_set(settings, controls))


def _change_cues(truth: dict[str, Any], controls: Controls) -> Iterator[Cue]:
    for change in truth["transitions"]:
        yield Cue(
            frame=change["stop"],
            name=f"{change['shot']}, light changed",
            begins="transition",
            length=change["stop"] - change["first"],
            ease=change["ease"],
            settings=_set(change["end"], controls),
        )


def _set(settings: dict[str, Any], controls: Controls) -> dict[str, Any]:
    """Return the settings that are not neutral: a cue need not say more."""
    checked = controls.check(settings, "the demo: ")
    return {key: value for key, value in checked.items() if value != controls.neutral[key]}
