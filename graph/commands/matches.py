"""A shot brought beside another, and the shots of a scene made even."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from lamphouse.graph.commands.options import Json, Place, ReelFile
from lamphouse.nodes.errors import BadInput

if TYPE_CHECKING:
    from collections.abc import Mapping

    from lamphouse.graph.reel.counters import Counter
    from lamphouse.graph.reel.records import Cue
    from lamphouse.graph.reel_files.opened import OpenedReel
    from lamphouse.graph.survey.matching.match import Evened, Shown
    from lamphouse.nodes.values import Value

Write = Annotated[bool, typer.Option("--write", help="Set it in the cues.")]
UNIT = "sliced Wasserstein, in units of CIELAB, over what both show"


def match(
    reel_file: ReelFile,
    at: Place,
    to: Annotated[
        str, typer.Option("--to", metavar="AT|STILL", help="The shot there, or a picture in a file.")
    ],
    write: Write = False,
    as_json: Json = False,
) -> None:
    """Bring a shot beside another, or beside a still.

    Says what has to be set in its cue, and how far the two are from each other before and after.
    """
    import json

    from lamphouse.graph.commands.notes import note_missing
    from lamphouse.graph.reel.counters import counter
    from lamphouse.graph.reel_files.opened import open_reel
    from lamphouse.graph.survey.matching.match import matched
    from lamphouse.graph.survey.matching.shots import cue_of, pictures_of, shot_of

    opened = open_reel(reel_file)
    note_missing(opened)
    cue = cue_of(opened.reel, counter(opened.reel).find(at))
    goal = _goal(opened, cue, to)
    found = matched(shot_of(opened, cue, pictures_of(opened, [cue])[0]), goal)
    if as_json:
        fields = {"before": found.before, "after": found.after, "common": found.common}
        typer.echo(json.dumps({"frame": cue.frame, **fields, "settings": found.settings}, indent=2))
    else:
        _say(found.settings)
        typer.echo(f"Distance {found.before:.2f} before, {found.after:.2f} after ({UNIT}).")
        typer.echo(f"{found.common:.0%} of the shot has its like in the other.")
    if write:
        _write(opened, {cue.frame: found.settings}, is_told=not as_json)


def even(
    reel_file: ReelFile,
    places: Annotated[list[str] | None, typer.Argument(metavar="AT...", help="A place in each shot.")] = None,
    from_: Annotated[str | None, typer.Option("--from", metavar="AT", help="The first shot of all.")] = None,
    to: Annotated[str | None, typer.Option("--to", metavar="AT", help="The last shot of all.")] = None,
    write: Write = False,
    as_json: Json = False,
) -> None:
    """Even out the shots of a scene.

    Finds the settings of their cues with which the steps from each to the next are least, while the whole
    stays as it was. Of a scene that goes to and fro between views each view is made even by itself.
    """
    import json

    from lamphouse.graph.commands.notes import note_missing, say_notes
    from lamphouse.graph.reel.counters import counter
    from lamphouse.graph.reel_files.opened import open_reel
    from lamphouse.graph.survey.matching.match import EVEN_ALREADY, evened
    from lamphouse.graph.survey.matching.shots import pictures_of, shot_of

    opened = open_reel(reel_file)
    note_missing(opened)
    counters = counter(opened.reel)
    cues = _cues(opened, counters, places or [], from_, to)
    pictures = pictures_of(opened, cues)
    shots = [shot_of(opened, cue, found) for cue, found in zip(cues, pictures, strict=True)]
    found = evened(shots)
    if as_json:
        typer.echo(json.dumps(_fields(cues, found), indent=2))
    else:
        _say_steps([_name(cue, counters) for cue in cues], found)
    by_frame = {cue.frame: settings for cue, settings in zip(cues, found.settings, strict=True) if settings}
    if not by_frame:
        say_notes([EVEN_ALREADY])
    elif write:
        _write(opened, by_frame, is_told=not as_json)


def _fields(cues: list[Cue], found: Evened) -> dict[str, Any]:
    rows = [{"frame": cue.frame, "settings": s} for cue, s in zip(cues, found.settings, strict=True)]
    steps = [[cues[i].frame, cues[j].frame] for i, j in found.pairs]
    return {"views": found.views, "steps": steps, "before": found.before, "after": found.after, "shots": rows}


def _say_steps(names: list[str], found: Evened) -> None:
    for (i, j), before, after in zip(found.pairs, found.before, found.after, strict=True):
        typer.echo(f"{names[i]} to {names[j]}: {before:.2f} before, {after:.2f} after")
    beside = {place for pair in found.pairs for place in pair}
    for place, name in enumerate(names):
        if place not in beside:
            why = "shows no picture" if place in found.blank else "is the only shot of its view"
            typer.echo(f"{name} {why}, and stays as it is.")
    if found.views > 1:
        typer.echo(f"The scene goes to and fro between views: {found.views} are made even, each by itself.")
    typer.echo(f"Largest step {max(found.before):.2f} before, {max(found.after):.2f} after ({UNIT}).")


def _goal(opened: OpenedReel, cue: Cue, to: str) -> Shown:
    """Return what a shot is brought to: the shot at a place, or the picture in a file."""
    from lamphouse.graph.reel.counters import counter
    from lamphouse.graph.survey.matching.shots import cue_of, pictures_of, shot_of, still

    if Path(to).suffix and Path(to).exists():
        return still(Path(to))
    if not to[:1].isdigit() and not to.startswith("-"):
        raise BadInput(f"{to} is no place and no file; give a place of the reel, or a still that is there.")
    other = cue_of(opened.reel, counter(opened.reel).find(to))
    if other.frame == cue.frame:
        raise BadInput("Both places have one cue; put a cue at the change of shot between them first.")
    return shot_of(opened, other, pictures_of(opened, [other])[0]).as_it_is()


def _cues(
    opened: OpenedReel, counters: Counter, places: list[str], first: str | None, last: str | None
) -> list[Cue]:
    """Return the cues of a scene in their order: of places, or of all from one to another."""
    from lamphouse.graph.survey.matching.shots import cue_of

    if places and (first or last):
        raise BadInput("Give places, or --from and --to, and not both.")
    if places:
        cues = {cue.frame: cue for cue in (cue_of(opened.reel, counters.find(at)) for at in places)}
    else:
        if first is None or last is None:
            raise BadInput("Give a place in each shot, or --from and --to.")
        low, high = (cue_of(opened.reel, counters.find(at)).frame for at in (first, last))
        cues = {cue.frame: cue for cue in opened.reel.cues if low <= cue.frame <= high}
    return [cues[frame] for frame in sorted(cues)]


def _name(cue: Cue, counters: Counter) -> str:
    from lamphouse.nodes.one_line import one_line

    return one_line(cue.name) or counters.readings(cue.frame).timecode


def _say(settings: Mapping[str, Value]) -> None:
    from lamphouse.nodes.values import value_text

    for key, value in settings.items():
        typer.echo(f"{key}={value_text(value)}")


def _write(opened: OpenedReel, found: dict[int, Any], *, is_told: bool) -> None:
    """Set what was found in the reel as it is by now."""
    from lamphouse.graph.reel_files.opened import change_reel
    from lamphouse.graph.survey.matching.shots import with_settings

    change_reel(opened.file, lambda now: with_settings(now.reel, found, now.controls()), opened.catalogue)
    if is_told:
        typer.echo(f"Set in {len(found)} cue{'s' if len(found) > 1 else ''}.")
