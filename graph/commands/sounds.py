"""The sound of a reel: where it lies beside the film, and how that is set."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from lamphouse.graph.commands.options import Json, ReelFile
from lamphouse.nodes.errors import BadInput

if TYPE_CHECKING:
    from lamphouse.graph.media.sound.facts import Beside
    from lamphouse.graph.media.sound.pip import Pip
    from lamphouse.graph.reel.records import Reel
    from lamphouse.graph.reel_files.opened import OpenedReel

OFFSET = (
    "How much later than the film it begins: -26f, +12.5ms, '300 samples'; or optical or magnetic, the "
    "advance of that track on this gauge, for sound that was taken off the film beside its pictures."
)
RATE = "Film frames a second at which it was recorded beside them; the reel's where nothing is said."


def sound(
    reel_file: ReelFile,
    offset: Annotated[str | None, typer.Option(metavar="OFFSET", help=OFFSET)] = None,
    rate: Annotated[str | None, typer.Option(metavar="RATE", help=RATE)] = None,
    pip_at: Annotated[
        str | None,
        typer.Option(metavar="AT", help="Move the sound so that its sync pip begins with this frame."),
    ] = None,
    as_json: Json = False,
) -> None:
    """Show the sound beside the picture and its sync pip, or move it."""
    from lamphouse.graph.commands.notes import say_notes
    from lamphouse.graph.media.sound.facts import sound_notes
    from lamphouse.graph.reel_files.opened import change_reel, open_reel

    if offset is not None and pip_at is not None:
        raise BadInput("--offset and --pip-at both say where the sound lies; give one of the two.")
    opened = open_reel(reel_file)
    path = _path(opened)
    if (offset, rate, pip_at) != (None, None, None):
        opened = change_reel(reel_file, lambda now: _changed(now, path, offset, rate, pip_at))
    facts, lies = _facts(opened, path), _beside(opened, path)
    if as_json:
        import json

        typer.echo(json.dumps(facts | _seconds(lies), indent=2))
        return
    for name, text in _lines(facts, lies).items():
        typer.echo(f"{name:9}  {text}")
    say_notes(sound_notes(path, opened.reel))


def _path(opened: OpenedReel) -> Path:
    if (path := opened.sound_path) is None:
        raise BadInput(
            f"{opened.file.name} has no sound; give it one with `lamphouse reel REEL --sound PATH`."
        )
    return path


def _changed(
    opened: OpenedReel, path: Path, offset: str | None, rate: str | None, pip_at: str | None
) -> Reel:
    from lamphouse.graph.edits.sound import parse_offset, with_offset, with_place_at, with_rate
    from lamphouse.graph.media.sound.facts import sound_facts
    from lamphouse.graph.reel.counters import counter

    reel = opened.reel if rate is None else with_rate(opened.reel, rate)
    if offset is not None:
        return with_offset(reel, parse_offset(offset, reel.gauge, sound_facts(path).rate))
    if pip_at is not None:
        frame = counter(reel).find(pip_at)
        if (pip := _pip(reel, path)) is None:
            raise BadInput(
                f"No sync pip was found in the first two minutes of {path}; set the sound with --offset."
            )
        return with_place_at(reel, pip.seconds, frame)
    return reel


def _pip(reel: Reel, path: Path) -> Pip | None:
    from lamphouse.graph.edits.sound import recorded_rate
    from lamphouse.graph.media.sound.facts import sound_facts
    from lamphouse.graph.media.sound.pip import find_pip
    from lamphouse.graph.media.sound.read import open_sound

    with open_sound(path, sound_facts(path).rate) as source:
        return find_pip(source, recorded_rate(reel))


def _facts(opened: OpenedReel, path: Path) -> dict[str, Any]:
    from lamphouse.graph.edits.sound import offset_text, recorded_rate
    from lamphouse.graph.media.sound.facts import sound_facts

    reel, facts = opened.reel, sound_facts(path)
    return {
        "path": str(path),
        "samples_a_second": facts.rate,
        "channels": facts.channels,
        "recorded": str(recorded_rate(reel)),
        "runs": reel.rate,
        "begins": offset_text(reel.sound) if reel.sound else "",
        "pip": _pip_facts(reel, path),
    }


def _beside(opened: OpenedReel, path: Path) -> Beside:
    from lamphouse.graph.media.sound.facts import beside, sound_facts

    lies = beside(sound_facts(path), opened.reel)
    assert lies is not None
    return lies


def _seconds(lies: Beside) -> dict[str, float | None]:
    """Return what is longer or shorter, in seconds at the speed of the film."""
    return {
        "begins_seconds": float(lies.begins),
        "ends_seconds": None if lies.ends is None else float(lies.ends),
        "picture_seconds": float(lies.picture),
    }


def _pip_facts(reel: Reel, path: Path) -> dict[str, Any] | None:
    from math import floor

    from lamphouse.graph.reel.counters import counter
    from lamphouse.graph.reel.sound_place import sound_place

    place, pip = sound_place(reel), _pip(reel, path)
    if pip is None or place is None:
        return None
    frame = place.frame(pip.seconds)
    return {
        "sample": pip.sample,
        "seconds": float(pip.seconds),
        "frame": floor(frame),
        "timecode": counter(reel).readings(floor(frame)).timecode,
        "milliseconds_into_it": round(float((frame - floor(frame)) / place.recorded) * 1000, 3),
    }


def _lines(facts: dict[str, Any], lies: Beside) -> dict[str, str]:
    channels = f"{facts['channels']} channel{'s' * (facts['channels'] != 1)}"
    return {
        "sound": f"{facts['path']}, {facts['samples_a_second']} samples a second, {channels}",
        "recorded": f"at {facts['recorded']} film frames a second; the film runs at {facts['runs']}",
        "begins": facts["begins"],
        "lasts": _lasts(lies),
        "sync pip": _pip_line(facts["pip"]),
    }


def _lasts(lies: Beside) -> str:
    from lamphouse.graph.media.sound.facts import clock

    if lies.ends is None:
        return f"its file does not say; the picture lasts {clock(lies.picture)}"
    off = lies.ends - lies.picture
    apart = f"{clock(abs(off))} {'after' if off > 0 else 'before'} the picture" if off else "with the picture"
    return f"{clock(lies.ends - lies.begins)}, and ends {apart}, which lasts {clock(lies.picture)}"


def _pip_line(pip: dict[str, Any] | None) -> str:
    if pip is None:
        return "none in the first two minutes"
    into = f"{pip['milliseconds_into_it']:g} ms into " if pip["milliseconds_into_it"] else "at "
    return f"sample {pip['sample']}, {into}frame {pip['frame']} ({pip['timecode']})"
