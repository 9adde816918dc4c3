"""What a reel holds, in words: its media and whether they are there, its counters, chain and cues."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from lamphouse.graph.edits.sound import offset_text
from lamphouse.graph.files.record import every_field
from lamphouse.graph.reel.counters import counter
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.one_line import one_line


def facts_of(opened: OpenedReel) -> dict[str, Any]:
    """Return all of it for other programs."""
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
        "about": every_field(reel.about),
    }


def _media(path: Path) -> dict[str, Any]:
    return {"path": str(path), "is_there": path.exists()}


def facts_lines(facts: dict[str, Any]) -> dict[str, str]:
    """Return the facts in words, by their names."""
    scan, sound = facts["scan"], facts["sound"]
    size = f"{scan['frames']} frames of {scan['width']}x{scan['height']}"
    about = facts["about"]
    said = {
        "title": about["title"],
        "known as": ", ".join(about["identifiers"]),
        "client": about["client"],
        "note": about["note"],
    }
    return {
        **{name: one_line(text) for name, text in said.items() if text},
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
