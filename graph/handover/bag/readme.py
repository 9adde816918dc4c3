"""README.txt of a bag: what each file is and how to check it, for somebody who has never heard of us."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fnmatch import fnmatch
from pathlib import Path
from textwrap import wrap
from typing import Final

from lamphouse.graph.media.master.events import history
from lamphouse.graph.media.master.record import MasterRecord
from lamphouse.nodes.one_line import one_line

README: Final = "README.txt"
WIDE: Final = 96

# What the files of each pattern are. Whatever is put in a bag has a row here.
FILES: Final = {
    README: "This page.",
    "reel/*.reel": "The reel as it is kept: scan, marks, chain of corrections, cues, settings. JSON.",
    "master/*.record.json": "The record of the master: the checksum of each frame and of each second of "
    "lossless sound, the SHA-256 of each file, what each frame was corrected by, the reel of that day, and "
    "what happened when, by whom, with which versions (events, in terms of "
    "id.loc.gov/vocabulary/preservation/eventType). JSON.",
    "master/*.framemd5": "The checksum of each picture of the master. `ffmpeg -i MASTER -map 0:v -fflags "
    "+bitexact -f framemd5 -` prints the same for the right file; of stills, with "
    "-framerate and their rate before -i.",
    "master/*.sound.json": "What the sound of the master is, the MD5 of each second of it, and what is "
    "heard of it: its loudness (ITU-R BS.1770), true peak, silence. JSON.",
    "master/*": "The master itself, the very file that the record is of.",
    "report/*": "A page about the master with its pictures. Open index.html in any browser, offline too.",
    "cues/cues.json": "Each cue: its file names, its place, its settings, how exact its files are. JSON.",
    "cues/*.clf": "A cue as a Common LUT Format list (Academy S-2014-006): codes of the scan, 0 to 1, in; "
    "video signal out, ITU-R BT.1886 on primaries of BT.709. Exact but where cues.json says otherwise.",
    "cues/*.cube": "The same as a 3D table, read by tetrahedra; its error stands in its head.",
    "cues/all.ccc": "All cues as a collection of ASC CDLs: exact, or the nearest, as each description says.",
    "cues/*-scanned.png": "The frame in the middle of a cue as scanned, as it looks on a BT.1886 display: "
    "sRGB codes (IEC 61966-2-1) of 16 bits.",
    "cues/*-graded.png": "The same frame graded: sRGB codes (IEC 61966-2-1) of 16 bits.",
    "cues/*-graded.exr": "The same frame graded: display-linear light on primaries of BT.709, 1 is "
    "reference white, half floats.",
    "lists/*.edl": "The shots as an event list in the form of SMPTE ST 258, an event a cue; its comments say "
    "rates, transitions of settings, marks and CDLs.",
    "lists/*.otio": "The same as a timeline of OpenTimelineIO. JSON.",
    "metadata/dublin-core.xml": "What this is about, in elements of Dublin Core (ISO 15836-1). XML.",
}


def readme(
    names: Iterable[str],
    title: str,
    record: MasterRecord,
    not_carried: list[str],
    notes: list[str],
    *,
    with_master: bool,
) -> str:
    """Return the page for a payload of files of those `names`, relative to it."""
    parts = [
        one_line(title),
        "",
        *_wrapped(
            "This folder is a bag (RFC 8493): bagit.txt, bag-info.txt and the manifests stand beside data, in"
            " which all else lies. Every file has a SHA-256 and a SHA-512 in the manifests; any tool for bags"
            " checks them, `sha256sum -c manifest-sha256.txt` does in this folder, and `lamphouse handover"
            " --check DIR` reads the files as well."
        ),
        "",
        "WHAT EACH FILE IS",
        *_files(sorted(names)),
        "",
        "WHAT NO LUT CARRIES, BY CUE",
        *(not_carried or ["Nothing: every cue is carried whole, as exactly as cues.json says."]),
        *_wrapped("CIEDE2000 is of the pictures with it against those without it; 1 can just be seen."),
        "",
        "WHAT IS NOT IN THIS BAG",
        *([] if with_master else _master(record)),
        *(f"{one_line(name)}, SHA-256 of parts {digest}" for name, digest in _media(record)),
        "",
        "WHAT HAPPENED",
        *_events(record),
        *(
            ["", "TO BE KNOWN", *(line for note in notes for line in _wrapped(one_line(note)))]
            if notes
            else []
        ),
    ]
    return "\n".join(parts) + "\n"


def _files(names: list[str]) -> Iterator[str]:
    left = dict.fromkeys(names)
    for pattern, words in FILES.items():
        found = [name for name in left if fnmatch(name, pattern)]
        for name in found:
            del left[name]
        if found:
            yield found[0] if len(found) == 1 else f"{pattern} ({len(found)} files)"
            yield from _wrapped(words, "    ")


def _master(record: MasterRecord) -> Iterator[str]:
    """Yield what tells the master by its files, where it is not in the bag."""
    if len(record.files) == 1:
        yield from (f"the master {one_line(name)}, SHA-256 {digest}" for name, digest in record.files.items())
    else:
        yield f"the master, {len(record.files)} files, whose SHA-256 are in the record"


def _media(record: MasterRecord) -> Iterator[tuple[str, str]]:
    for name, digest in record.made_of.items():
        if name.startswith(("the scan ", "the sound ", "the file ", "the plug-in ")):
            yield name, digest


def _events(record: MasterRecord) -> Iterator[str]:
    for event in history(record):
        yield one_line(f"{event.made.when}  {event.kind}, by {event.made.who}")
        yield from _wrapped(one_line(f"{event.detail} {event.outcome}".strip()), "    ")


def _wrapped(words: str, indent: str = "") -> list[str]:
    return wrap(words, WIDE, initial_indent=indent, subsequent_indent=indent, break_long_words=False)


def payload(folder: Path) -> list[str]:
    """Return the names of all files below `folder`, relative to it, as they stand in a manifest."""
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())
