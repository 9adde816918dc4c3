"""What a reel is, and its media where they have moved."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from lamphouse.graph.commands.options import Counting, Json, ReelFile, counting_of

if TYPE_CHECKING:
    from lamphouse.graph.reel_files.opened import OpenedReel


def reel(
    reel_file: ReelFile,
    scan: Annotated[Path | None, typer.Option(help="Where its scan is now.")] = None,
    sound: Annotated[Path | None, typer.Option(help="Where its sound is now, or another.")] = None,
    shape: Annotated[
        str | None,
        typer.Option(help="Of its film's picture: super16, scope, 1.85 ..., or scan for all of it."),
    ] = None,
    start: Annotated[str | None, typer.Option(help="Give its head mark this record timecode.")] = None,
    counting: Counting = None,
    encoding: Annotated[str | None, typer.Option(help="Take its scan's codes as video, density ...")] = None,
    primaries: Annotated[str | None, typer.Option(help="Take its scan on bt709, bt2020 ...")] = None,
    as_json: Json = False,
) -> None:
    """Tell what a reel holds; set where its media are, and its timecode."""
    import json

    from lamphouse.graph.edits.counters import with_start
    from lamphouse.graph.edits.scan_colour import with_colour
    from lamphouse.graph.reel_files.opened import change_reel, open_reel

    if scan is not None:
        _point_at_scan(reel_file, scan)
    if sound is not None:
        _point_at_sound(reel_file, sound)
    if shape is not None:
        _give_shape(reel_file, shape)
    if start is not None or counting is not None:
        change_reel(reel_file, lambda now: with_start(now.reel, start, counting_of(counting)))
    if encoding is not None or primaries is not None:
        change_reel(reel_file, lambda now: with_colour(now.reel, encoding, primaries))
    facts = _facts(open_reel(reel_file))
    if as_json:
        typer.echo(json.dumps(facts, indent=2))
        return
    for name, text in _lines(facts).items():
        typer.echo(f"{name:9}  {text}")


def _point_at_scan(reel_file: Path, path: Path) -> None:
    from lamphouse.graph.edits.media import with_scan
    from lamphouse.graph.media.scan.open import open_scan
    from lamphouse.graph.reel.store import load
    from lamphouse.graph.reel_files.opened import change_reel

    known = load(reel_file).scan
    with open_scan(path, matrix=known.matrix, range_=known.range) as scan:
        change_reel(reel_file, lambda now: with_scan(now, scan, path))


def _point_at_sound(reel_file: Path, path: Path) -> None:
    from lamphouse.graph.commands.notes import say_notes
    from lamphouse.graph.edits.media import with_sound
    from lamphouse.graph.media.sound.facts import sound_facts, sound_notes
    from lamphouse.graph.reel_files.opened import change_reel

    sound_facts(path)  # what cannot be read is not taken
    say_notes(sound_notes(path, change_reel(reel_file, lambda now: with_sound(now, path)).reel))


def _give_shape(reel_file: Path, shape: str) -> None:
    from lamphouse.graph.edits.media import with_shape
    from lamphouse.graph.reel_files.opened import change_reel

    change_reel(reel_file, lambda now: with_shape(now.reel, shape))


def _facts(opened: OpenedReel) -> dict[str, Any]:
    from lamphouse.graph.edits.sound import offset_text
    from lamphouse.graph.reel.counters import counter

    reel = opened.reel
    ref, sound, sound_path = reel.scan, reel.sound, opened.sound_path
    return {
        "scan": {
            **_media(opened.scan_path),
            "frames": ref.frames,
            "width": ref.width,
            "height": ref.height,
            "pixel_aspect": ref.pixel_aspect,
            "encoding": ref.encoding,
            "primaries": ref.colour.primaries,
        },
        "sound": {
            **_media(sound_path),
            "starts_at": sound.starts_at,
            "offset": sound.offset,
            "rate": sound.rate,
            "begins": offset_text(sound),
        }
        if sound and sound_path
        else None,
        "gauge": reel.gauge,
        "shape": reel.shape,
        "rate": reel.rate,
        "head_mark": reel.head_mark,
        "start": counter(reel).readings(reel.head_mark).timecode,
        "chain": [f"{node.name} ({node.kind})" for node in reel.chain.nodes],
        "cues": len(reel.cues),
        "marks": len(reel.marks),
        "deliveries": sorted(reel.deliveries),
    }


def _media(path: Path) -> dict[str, Any]:
    return {"path": str(path), "is_there": path.exists()}


def _lines(facts: dict[str, Any]) -> dict[str, str]:
    scan, sound = facts["scan"], facts["sound"]
    size = f"{scan['frames']} frames of {scan['width']}x{scan['height']}"
    return {
        "scan": f"{_place(scan)}, {size}, {scan['encoding']} on {scan['primaries']}",
        "sound": f"{_place(sound)}, which begins {sound['begins']}" if sound else "none",
        "gauge": facts["gauge"],
        "shape": facts["shape"] or "all of the scan",
        "rate": f"{facts['rate']} fps",
        "head mark": f"frame {facts['head_mark']}, {facts['start']}",
        "chain": ", ".join(facts["chain"]) or "nothing",
        "cues": str(facts["cues"]),
        "marks": str(facts["marks"]),
    }


def _place(media: dict[str, Any]) -> str:
    return f"{media['path']}{'' if media['is_there'] else ' (not there; say where with --scan or --sound)'}"
