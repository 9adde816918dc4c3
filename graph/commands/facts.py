"""What a reel is, and its media where they have moved."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from lamphouse.graph.commands.options import Json, ReelFile

if TYPE_CHECKING:
    from lamphouse.graph.reel.records import Reel


def reel(
    reel_file: ReelFile,
    scan: Annotated[Path | None, typer.Option(help="Where its scan is now.")] = None,
    sound: Annotated[Path | None, typer.Option(help="Where its sound is now, or another.")] = None,
    as_json: Json = False,
) -> None:
    """Tell what a reel holds, or point it at media that moved."""
    import json

    from lamphouse.graph.reel.store import load

    if scan is not None:
        _point_at_scan(reel_file, scan)
    if sound is not None:
        _point_at_sound(reel_file, sound)
    facts = _facts(load(reel_file), reel_file)
    if as_json:
        typer.echo(json.dumps(facts, indent=2))
        return
    for name, text in _lines(facts).items():
        typer.echo(f"{name:9}  {text}")


def _point_at_scan(reel_file: Path, path: Path) -> None:
    from lamphouse.graph.edits.media import with_scan
    from lamphouse.graph.media.scan.open import open_scan
    from lamphouse.graph.reel.store import change, load

    known = load(reel_file).scan
    with open_scan(path, matrix=known.matrix, range_=known.range) as opened:
        change(reel_file, lambda reel: with_scan(reel, reel_file, opened, path))


def _point_at_sound(reel_file: Path, path: Path) -> None:
    from lamphouse.graph.commands.notes import say_notes
    from lamphouse.graph.edits.media import with_sound
    from lamphouse.graph.media.sound.facts import sound_notes
    from lamphouse.graph.reel.store import change, load
    from lamphouse.graph.time.rate import parse_rate

    known = load(reel_file)
    rate = parse_rate(known.rate)
    say_notes(sound_notes(path, known.scan.frames / rate, 1 / rate))
    change(reel_file, lambda reel: with_sound(reel, reel_file, path))


def _facts(reel: Reel, reel_file: Path) -> dict[str, Any]:
    from lamphouse.graph.reel.counters import counter

    ref, sound = reel.scan, reel.sound
    return {
        "scan": {
            **_media(reel_file, ref.path),
            "frames": ref.frames,
            "width": ref.width,
            "height": ref.height,
            "pixel_aspect": ref.pixel_aspect,
            "encoding": ref.encoding,
        },
        "sound": {**_media(reel_file, sound.path), "starts_at": sound.starts_at} if sound else None,
        "gauge": reel.gauge,
        "rate": reel.rate,
        "head_mark": reel.head_mark,
        "start": counter(reel).readings(reel.head_mark).timecode,
        "chain": [f"{node.name} ({node.kind})" for node in reel.chain.nodes],
        "cues": len(reel.cues),
        "marks": len(reel.marks),
        "deliveries": sorted(reel.deliveries),
    }


def _media(reel_file: Path, stored: str) -> dict[str, Any]:
    from lamphouse.graph.reel.store import media_path

    path = media_path(reel_file, stored)
    return {"path": str(path), "is_there": path.exists()}


def _lines(facts: dict[str, Any]) -> dict[str, str]:
    scan, sound = facts["scan"], facts["sound"]
    size = f"{scan['frames']} frames of {scan['width']}x{scan['height']}, {scan['encoding']}"
    return {
        "scan": f"{_place(scan)}, {size}",
        "sound": f"{_place(sound)}, from frame {sound['starts_at']}" if sound else "none",
        "gauge": facts["gauge"],
        "rate": f"{facts['rate']} fps",
        "head mark": f"frame {facts['head_mark']}, {facts['start']}",
        "chain": ", ".join(facts["chain"]) or "nothing",
        "cues": str(facts["cues"]),
        "marks": str(facts["marks"]),
    }


def _place(media: dict[str, Any]) -> str:
    return f"{media['path']}{'' if media['is_there'] else ' (not there; say where with --scan or --sound)'}"
