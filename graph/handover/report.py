"""The report: every shot before and after, on one page that opens anywhere."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path
from typing import Any, Final

from lamphouse.graph.cues.words import beginning_text, settings_text
from lamphouse.graph.edits.marks import WORDS
from lamphouse.graph.files.whole_file import whole_file
from lamphouse.graph.grade.grade import Grade, show_as_scanned
from lamphouse.graph.media.master.still import write_still
from lamphouse.graph.media.scan.scan import Scan
from lamphouse.graph.media.sound.facts import sound_notes
from lamphouse.graph.reel.counters import counter
from lamphouse.graph.reel.records import Reel
from lamphouse.graph.reel_files.named import refuse_over
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.one_line import one_line

PAGE: Final = "index.html"


def write_report(
    folder: Path,
    opened: OpenedReel,
    master_file: Path,
    read_back: str,
    *,
    notes: tuple[str, ...] = (),
) -> Path:
    """Write the page and its pictures into `folder` and return the page.

    `read_back` is quoted in it, and `notes` of the pass are listed after those of the scan.
    """
    from jinja2 import Environment

    reel = opened.reel
    folder.mkdir(exist_ok=True)
    names = [PAGE, *(name for index in range(len(reel.cues)) for name in _stills(index))]
    refuse_over(opened, *(folder / name for name in names))
    with opened.open_scan() as scan, Grade(opened) as grade:
        shots = [_shot(folder, reel, scan, grade, index) for index in range(len(reel.cues))]
        known = dict.fromkeys((*scan.notes, *_of_sound(opened), *notes))
    source = (files("lamphouse.graph.handover") / "report.html").read_text(encoding="utf-8")
    template = Environment(autoescape=True, finalize=_shown).from_string(source)
    page = folder / PAGE
    text = template.render(
        reel=opened.file.stem,
        master=master_file.name,
        read_back=read_back,
        notes=list(known),
        flaws=flaws(reel),
        shots=shots,
    )
    with whole_file(page) as file:
        file.write(text.encode("utf-8"))
    return page


def _of_sound(opened: OpenedReel) -> tuple[str, ...]:
    if (path := opened.sound_path) is None:
        return ()
    rate = counter(opened.reel).rate
    try:
        return sound_notes(path, opened.reel.scan.frames / rate, 1 / rate)
    except BadInput as error:  # a report of pictures is worth having
        return (str(error),)


def _stills(index: int) -> tuple[str, str]:
    return f"{index:03}-before.jpg", f"{index:03}-after.jpg"


def _shown(value: object) -> object:
    """Return a name as the page shows it, which does nothing to the page."""
    return one_line(value) if isinstance(value, str) else value


def flaws(reel: Reel) -> list[dict[str, Any]]:
    """Return what the client should know of: soft shots, and what is still to be looked at again."""
    counters = counter(reel)
    return [
        {
            "what": WORDS[mark.kind],
            "name": mark.name,
            "place": counters.readings(mark.frame),
            "frames": mark.frames,
        }
        for mark in reel.marks
        if mark.kind != "place"
    ]


def _shot(folder: Path, reel: Reel, scan: Scan, grade: Grade, index: int) -> dict[str, Any]:
    cue = reel.cues[index]
    stop = reel.cues[index + 1].frame if index + 1 < len(reel.cues) else scan.frames
    shown = (cue.frame + stop) // 2
    picture = scan.read(shown)
    before, after = _stills(index)
    write_still(folder / before, show_as_scanned(reel, picture))
    write_still(folder / after, grade.correct(shown, picture))
    return {
        "name": cue.name or f"cue {index + 1}",
        "place": counter(reel).readings(cue.frame),
        "begins": beginning_text(cue),
        "settings": settings_text(cue),
        "shown": shown,
        "before": before,
        "after": after,
    }
