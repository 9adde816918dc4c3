"""Tracks of a reel shown, and some of them thinned out, switched or removed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from lamphouse.graph.commands.options import Json, ReelFile
from lamphouse.nodes.errors import BadInput, near_names
from lamphouse.nodes.one_line import one_line

if TYPE_CHECKING:
    from lamphouse.graph.reel.counters import Counter
    from lamphouse.graph.reel.records import Reel, Track
    from lamphouse.graph.reel_files.opened import OpenedReel


def tracks(
    reel_file: ReelFile,
    at: Annotated[
        str | None,
        typer.Argument(metavar="AT", parser=str.strip, help="A place, for those that lie over it."),
    ] = None,
    of: Annotated[
        str | None, typer.Option("--of", metavar="NODE.PARAM", help="Those of this parameter alone.")
    ] = None,
    thin: Annotated[
        float | None,
        typer.Option(
            metavar="ERROR", help="Leave the fewest keys that keep within so much of what they say now."
        ),
    ] = None,
    on: Annotated[bool, typer.Option("--on", help="Switch them on.")] = False,
    off: Annotated[bool, typer.Option("--off", help="Switch them off; their keys stay.")] = False,
    remove: Annotated[bool, typer.Option("--remove", help="Remove them.")] = False,
    as_json: Json = False,
) -> None:
    """Show what moves from frame to frame; thin it, switch or remove it.

    ERROR is in the unit of the parameter, or a share of it where keys multiply.
    """
    from lamphouse.graph.edits import tracks as edits
    from lamphouse.graph.reel_files.opened import change_reel, open_reel

    asked = {"thin": thin is not None, "on": on, "off": off, "remove": remove}
    if len(given := [f"--{name}" for name, is_asked in asked.items() if is_asked]) > 1:
        raise BadInput(f"Tracks cannot be changed by {' and '.join(given)} at once; give one.")

    def edit(opened: OpenedReel) -> Reel:
        reel, chosen = opened.reel, _chosen(opened.reel, at, of)
        if not chosen:
            raise BadInput(f"No track lies {'there' if at else 'over the reel'}; nothing was changed.")
        if thin is not None:
            return edits.thin(reel, chosen, thin, opened.controls())
        return edits.remove(reel, chosen) if remove else edits.switch(reel, chosen, is_on=on)

    before = _chosen(open_reel(reel_file).reel, at, of) if remove else ()
    reel = (change_reel(reel_file, edit) if given else open_reel(reel_file)).reel
    _tell(reel, before or _chosen(reel, at, of), as_json=as_json, is_gone=remove)


def _chosen(reel: Reel, at: str | None, of: str | None) -> tuple[Track, ...]:
    from lamphouse.graph.edits.tracks import tracks_over
    from lamphouse.graph.reel.counters import counter

    lying = tracks_over(reel, None if at is None else counter(reel).find(at))
    known = {track.parameter for track in reel.tracks}
    if of is not None and of not in known:
        raise BadInput(f"No track of this reel moves {of}{near_names(of, known)}.")
    return tuple(track for track in lying if of in (None, track.parameter))


def _tell(reel: Reel, shown: tuple[Track, ...], *, as_json: bool, is_gone: bool) -> None:
    import json

    from lamphouse.graph.files.record import every_field
    from lamphouse.graph.reel.counters import counter

    counters = counter(reel)
    if as_json:
        typer.echo(json.dumps({"tracks": [_places(counters, each) | every_field(each) for each in shown]}))
        return
    for track in shown:
        typer.echo(f"{'removed  ' if is_gone else ''}{_line(track, counters)}")
    if not shown:
        typer.echo("No parameter of this reel moves by a track.")


def _places(counters: Counter, track: Track) -> dict[str, object]:
    from dataclasses import asdict

    return asdict(counters.readings(track.frame))


def _line(track: Track, counters: Counter) -> str:
    from lamphouse.graph.cues.words import track_text

    place = counters.readings(track.frame)
    words = f"{one_line(track.parameter)}  {track_text(track)}  {one_line(track.name)}"
    return f"{place.columns}  {words}".rstrip()
