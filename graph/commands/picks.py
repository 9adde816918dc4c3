"""Settings picked from patches of the scan: the film's base, what its dyes have lost, grey and skin."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, Any, Final

import typer

from lamphouse.graph.commands.options import Place, ReelFile
from lamphouse.nodes.errors import BadInput

if TYPE_CHECKING:
    from lamphouse.graph.grade.patches import Density, Patch
    from lamphouse.graph.media.scan.scan import Source
    from lamphouse.graph.reel.records import NodeRef, Reel
    from lamphouse.graph.reel_files.opened import OpenedReel
    from lamphouse.nodes.values import Value


class Picked(StrEnum):
    """What can be picked."""

    BASE = "base"
    FADE = "fade"
    GREY = "grey"
    SKIN = "skin"


KINDS: Final = {Picked.BASE: "film_base", Picked.FADE: "dye_fade"}
WANTED: Final = {
    Picked.BASE: (1, "one patch of unexposed film"),
    Picked.FADE: (2, "two patches that were neutral, a dark one and then a light one"),
    Picked.GREY: (1, "one patch that was grey or white"),
    Picked.SKIN: (1, "one patch of skin"),
}


def pick(
    reel_file: ReelFile,
    at: Place,
    what: Annotated[Picked, typer.Argument(metavar="WHAT", help="base, fade, grey or skin.")],
    patches: Annotated[
        list[str], typer.Option("--patch", metavar="X,Y,W,H", help="A patch, in pixels of the scan.")
    ],
    write: Annotated[bool, typer.Option("--write", help="Set it in the cue that holds there.")] = False,
    every: Annotated[bool, typer.Option("--all", help="With --write: in every cue.")] = False,
) -> None:
    """Measure film base, faded dyes, grey or skin, from patches of a scan."""
    from lamphouse.graph.commands.notes import note_missing
    from lamphouse.graph.reel.counters import counter
    from lamphouse.graph.reel_files.opened import open_reel
    from lamphouse.nodes.values import value_text

    if every and not write:
        raise BadInput("--all says where to --write; give both, or neither.")
    opened = open_reel(reel_file)
    frame = counter(opened.reel).find(at)
    note_missing(opened)
    measure = _of_film if what in KINDS else _balance
    if write:
        _frames(opened.reel, frame, every)  # where there is none to write to, that is said before measuring
    settings = opened.controls().check(measure(what, opened, frame, patches, every), "")
    for key, value in settings.items():
        typer.echo(f"{key}={value_text(value)}")
    if write:
        count = _write(opened, frame, every, settings)
        typer.echo(f"Set in {count} cue{'s' if count > 1 else ''}.")


def _of_film(what: Picked, opened: OpenedReel, frame: int, patches: list[str], every: bool) -> dict[str, Any]:
    node = _node_of(opened.reel, what)
    densities = _densities(opened, node, frame, _places(what, patches))
    measured = _base(densities) if what is Picked.BASE else _fade(densities, opened, node, frame, every)
    return {f"{node.name}.{name}": value for name, value in measured.items()}


def _balance(what: Picked, opened: OpenedReel, frame: int, patches: list[str], every: bool) -> dict[str, Any]:
    """Return the balance that the patch asks for in the cue that holds at `frame`."""
    from lamphouse.graph.commands.notes import say_notes
    from lamphouse.graph.edits.cues import cue_holding
    from lamphouse.graph.grade.neutral import GREY, SKIN, patch_balance

    place = _places(what, patches)[0]
    cue = cue_holding(opened.reel, frame)
    with opened.open_scan() as scan:
        say_notes([_clipped(place, scan.read_coded(frame))])
        picture = scan.read(frame)
    goal = SKIN if what is Picked.SKIN else GREY
    found = patch_balance(opened, cue.settings if cue else {}, picture, place, goal)
    return {key: _rounded(value) for key, value in found.items()}


def _node_of(reel: Reel, what: Picked) -> NodeRef:
    kind = KINDS[what]
    for node in reel.chain.nodes:
        if node.kind == kind:
            return node
    preset = "negative" if what is Picked.BASE else "faded-print"
    raise BadInput(
        f"This reel's chain has no {kind} node; put one into it, or begin a reel with --chain {preset}."
    )


def _frames(reel: Reel, frame: int, every: bool) -> list[int]:
    from lamphouse.graph.edits.cues import cue_holding

    holding = cue_holding(reel, frame)
    cues = reel.cues if every else ((holding,) if holding else ())
    if not cues:
        raise BadInput(f"No cue holds at frame {frame} to write to; set one first with `lamphouse cue`.")
    return [cue.frame for cue in cues]


def _places(what: Picked, patches: list[str]) -> list[Patch]:
    from lamphouse.graph.grade.patches import parse_patch

    count, sentence = WANTED[what]
    if len(patches) != count:
        raise BadInput(f"To pick {what}, give --patch for {sentence}.")
    return [parse_patch(text) for text in patches]


def _densities(opened: OpenedReel, node: NodeRef, frame: int, places: list[Patch]) -> list[Density]:
    from lamphouse.graph.commands.notes import say_notes
    from lamphouse.graph.grade.grade import Grade
    from lamphouse.graph.grade.patches import density, density_of, reel_up_to

    before = opened.with_reel(reel_up_to(node, opened.reel))
    with opened.open_scan() as scan, Grade(before) as grade:
        say_notes(_clipped(place, scan.read_coded(frame)) for place in places)
        picture = density(grade, frame, scan.read(frame))
    return [density_of(place.of(picture)) for place in places]


def _clipped(place: Patch, source: Source) -> str:
    from lamphouse.graph.grade.patches import share_at_ends

    share = share_at_ends(source, place)
    where = f"{place.left},{place.top},{place.width},{place.height}"
    return (
        f"{max(share, 0.01):.0%} of the patch {where} lies at the end of the scan's codes and may be "
        "clipped; choose another, or scan it again."
        if share
        else ""
    )


def _base(densities: list[Density]) -> dict[str, Any]:
    return {"base": _rounded(densities[0])}


def _fade(
    densities: list[Density], opened: OpenedReel, node: NodeRef, frame: int, every: bool
) -> dict[str, Any]:
    from lamphouse.graph.grade.patches import fading
    from lamphouse.nodes.corrections.dye_fade import absorptions

    sides = _sides(opened, node, frame)
    dark, light = densities
    kept, stain = fading(dark, light, absorptions(sides))
    # What was kept is right under these side absorptions alone: a cue that has others takes them over.
    named = {key for cue in opened.reel.cues for key in cue.settings if every}
    shared = {name: value for name, value in sides.items() if f"{node.name}.{name}" in named}
    return {"kept": _rounded(kept), "stain": _rounded(stain), **shared}


def _sides(opened: OpenedReel, node: NodeRef, frame: int) -> dict[str, Value]:
    """Return the side absorptions set in the cue that holds at `frame`, be its node switched on or off."""
    from lamphouse.graph.edits.cues import cue_holding
    from lamphouse.nodes.corrections.dye_fade import SIDES

    controls, holding = opened.controls(), cue_holding(opened.reel, frame)
    switched_on = {**(holding.settings if holding else {}), f"{node.name}.on": "on"}
    settings = controls.effective(controls.check(switched_on, ""))
    return {name: settings[f"{node.name}.{name}"] for row in SIDES for name in row if name}


def _rounded(values: Any) -> list[float]:
    return [round(float(value), 5) for value in values]


def _write(opened: OpenedReel, frame: int, every: bool, settings: dict[str, Value]) -> int:
    """Set what was measured in the reel as it is by now, and return in how many cues."""
    from lamphouse.graph.reel_files.opened import change_reel

    written: list[int] = []

    def edit(now: OpenedReel) -> Reel:
        written[:] = _frames(now.reel, frame, every)
        return _with(now, written, settings)

    change_reel(opened.file, edit, opened.catalogue)
    return len(written)


def _with(opened: OpenedReel, frames: list[int], settings: dict[str, Value]) -> Reel:
    from lamphouse.graph.edits.cues import set_cue

    reel, controls = opened.reel, opened.controls()
    for frame in frames:
        reel = set_cue(reel, frame, controls, settings)
    return reel
