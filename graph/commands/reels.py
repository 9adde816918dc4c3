"""Start a reel; set one of its cues."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from lamphouse.graph.commands.lists import cue_line
from lamphouse.graph.commands.options import (
    Client,
    ClientNote,
    Counting,
    Identifiers,
    Place,
    ReelFile,
    Title,
    counting_of,
)
from lamphouse.graph.commands.sounds import OFFSET, RATE
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.one_line import one_line

if TYPE_CHECKING:
    from lamphouse.graph.cues.settings import Controls
    from lamphouse.graph.reel.records import Reel
    from lamphouse.graph.reel_files.opened import OpenedReel


def new(
    reel_file: ReelFile,
    scan: Annotated[Path, typer.Option(help="A movie, or numbered stills: their folder or one of them.")],
    sound: Annotated[Path | None, typer.Option(help="Sound beside the picture.")] = None,
    rate: Annotated[str | None, typer.Option(help="Frames a second, such as 24 or 30000/1001.")] = None,
    gauge: Annotated[str, typer.Option(help="Such as 16mm, super8.")] = "35mm",
    shape: Annotated[
        str | None,
        typer.Option(help="Of the film's picture: super16, scope, 1.85 ...; all of the scan if not given."),
    ] = None,
    encoding: Annotated[
        str | None,
        typer.Option(help="video, density, srgb, pq ...; as tagged, else video, where nothing is said."),
    ] = None,
    primaries: Annotated[
        str | None, typer.Option(help="bt709, bt601-525, bt601-625, bt2020 or p3-d65, over the tag.")
    ] = None,
    chain: Annotated[str | None, typer.Option(help="A chain preset.")] = None,
    stock: Annotated[str | None, typer.Option(help="A stock preset.")] = None,
    matrix: Annotated[str | None, typer.Option(help="bt601, bt709 or bt2020, over the movie's tag.")] = None,
    range_: Annotated[
        str | None, typer.Option("--range", help="video or full, over the movie's tag.")
    ] = None,
    start: Annotated[
        str | None,
        typer.Option(help="Record timecode of the first frame; the scan's own where nothing is said."),
    ] = None,
    counting: Counting = None,
    sound_rate: Annotated[str | None, typer.Option(metavar="RATE", help=RATE)] = None,
    sound_offset: Annotated[str | None, typer.Option(metavar="OFFSET", help=OFFSET)] = None,
    title: Title = None,
    identifier: Identifiers = None,
    client: Client = None,
    note: ClientNote = None,
    working_copy: Annotated[
        bool, typer.Option("--working-copy", help="Make the desk's working copy of the scan at once.")
    ] = False,
) -> None:
    """Start a reel."""
    from lamphouse.graph.edits.about import about_of
    from lamphouse.graph.edits.start import Start, new_reel

    started = new_reel(
        reel_file,
        Start(
            scan,
            sound,
            rate,
            gauge,
            encoding,
            chain,
            stock,
            matrix,
            range_,
            shape,
            start,
            counting_of(counting),
            sound_rate,
            sound_offset,
            primaries,
            about_of(title=title, identifiers=identifier, client=client, note=note),
        ),
    )
    for said in started.notes:
        typer.echo(f"Note: {one_line(said)}")
    ref = started.reel.scan
    typer.echo(f"{reel_file}: {ref.frames} frames of {ref.width}x{ref.height} at {started.reel.rate} fps.")
    if working_copy:
        _copy_scan(reel_file)


def _copy_scan(reel_file: Path) -> None:
    """Make the whole working copy of a reel's scan."""
    from lamphouse.graph.files.folders import settings_folder
    from lamphouse.graph.media.working_copy.copy import working_copy_of
    from lamphouse.graph.media.working_copy.make import make_working_copy
    from lamphouse.graph.media.working_copy.wanted import read_wanted
    from lamphouse.graph.progress import progress
    from lamphouse.graph.reel_files.opened import open_reel

    opened = open_reel(reel_file)
    copy = working_copy_of(opened.reel.scan, opened.scan_path)
    room = read_wanted(settings_folder()).room
    with progress("Working copy") as step:
        make_working_copy(copy, opened.open_scan, said=step, room=room)
    size = copy.bytes_a_frame * copy.frames
    typer.echo(f"Working copy: {copy.width}x{copy.height}, {size / 1e9:.1f} GB, in {copy.folder}.")


def cue(
    reel_file: ReelFile,
    at: Place,
    name: Annotated[str | None, typer.Option(help="What to call it.")] = None,
    begins: Annotated[str | None, typer.Option(help="Begin with a cut or a transition.")] = None,
    length: Annotated[int | None, typer.Option(help="Frames of the transition that ends on it.")] = None,
    ease: Annotated[
        str | None, typer.Option(help="even, soft, or points such as '0,0 0.3,0.6 1,1'; soft if not given.")
    ] = None,
    settings: Annotated[
        list[str] | None,
        typer.Option(
            "--set",
            metavar="NODE.PARAM=VALUE",
            help="A setting; may be repeated. NODE.on=off switches a node off, NODE.PARAM.on=off one value.",
        ),
    ] = None,
    gate: Annotated[
        str | None,
        typer.Option(metavar="SHAPE", help="Blank what lies outside a film's shape: super16, 1.85 ..."),
    ] = None,
    cdl: Annotated[
        str | None,
        typer.Option(
            metavar="FILE[#ID]", help="A CDL for the chain's cdl node, or primary, from a .cdl, .cc, .ccc."
        ),
    ] = None,
    remove: Annotated[bool, typer.Option("--remove", help="Remove it.")] = False,
) -> None:
    """Set, change or remove one cue."""
    from contextlib import suppress

    from lamphouse.graph.commands.notes import say_notes
    from lamphouse.graph.edits.cues import cue_at, remove_cue, set_cue
    from lamphouse.graph.edits.framing import gated_to
    from lamphouse.graph.grade.lut_cut import lut_notes
    from lamphouse.graph.reel.counters import counter
    from lamphouse.graph.reel.film_shapes import film_shape
    from lamphouse.graph.reel_files.opened import change_reel

    changes = _changes(name=name, begins=begins, length=length, ease=ease)

    def edit(opened: OpenedReel) -> Reel:
        reel, controls = opened.reel, opened.controls()
        frame = counter(reel).find(at)
        if remove:
            return remove_cue(reel, frame, controls)
        gated = gated_to(reel, film_shape(gate)) if gate else {}
        given = _of_cdl(cdl, reel, frame, controls) | gated | _typed(settings or [], opened)
        changed = set_cue(reel, frame, controls, given, **changes)
        if any(controls.is_file(key) for key in given):
            _refuse_bad_files(opened.with_reel(changed), frame)
        return changed

    changed = change_reel(reel_file, edit)
    counters = counter(changed.reel)
    frame = counters.find(at)
    now = cue_at(changed.reel, frame)
    with suppress(BadInput):  # the cue is set, be the scan here or not
        say_notes(lut_notes(changed, frame))
    number = sum(other.frame <= frame for other in changed.reel.cues)
    typer.echo(cue_line(number, now, counters) if now else f"Removed the cue at frame {frame}.")


def _changes(*, begins: str | None, length: int | None, ease: str | None, **given: Any) -> dict[str, Any]:
    if begins not in (None, "cut", "transition"):
        raise BadInput(f"A cue begins with a cut or a transition, not with {begins}; give one of the two.")
    if length is not None and begins is None:
        begins = "transition"
    if ease is not None and "," in ease:
        given["ease"] = _drawn(ease)
    else:
        given["ease"] = ease
    return {
        key: value
        for key, value in {**given, "begins": begins, "length": length}.items()
        if value is not None
    }


def _drawn(text: str) -> Any:
    from lamphouse.nodes.parameter import Kind

    return Kind.POINTS.parse(text, "--ease")


def _typed(settings: list[str], opened: OpenedReel) -> dict[str, Any]:
    from lamphouse.graph.reel.store import stored_path

    values, controls = {}, opened.controls()
    for setting in settings:
        key, equals, text = setting.partition("=")
        if not equals:
            raise BadInput(f"--set {setting} has no value; write NODE.PARAM=VALUE.")
        key = key.strip()
        value = controls.parse(key, text)
        # Typed relative to the shell's folder, kept relative to the reel's.
        values[key] = stored_path(opened.file, Path(str(value))) if controls.is_file(key) and value else value
    return values


def _of_cdl(named: str | None, reel: Reel, frame: int, controls: Controls) -> dict[str, Any]:
    """Return the settings by which the cue at `frame` does what a CDL file says."""
    from lamphouse.graph.edits.cdl import cdl_settings
    from lamphouse.graph.edits.cues import cue_holding
    from lamphouse.graph.handover.cdl_file import read_cdl

    if named is None:
        return {}
    file, _, wanted = named.partition("#")
    read, held = read_cdl(Path(file), wanted or None), cue_holding(reel, frame)
    found = cdl_settings(read, controls, reel.chain, held.settings if held else {})
    node = next((key.removesuffix(".slope") for key in found if key.endswith(".slope")), None)
    if node is not None and not read.clamp:
        note = f"{file} does not say whether it clamps; {node}.clamp is left as it is"
        typer.echo(f"Note: {note}; set it with --set {node}.clamp=yes or no.", err=True)
    return found


def _refuse_bad_files(opened: OpenedReel, frame: int) -> None:
    """Raise BadInput now, and not at the transfer, where a node cannot use the file that it was given."""
    opened.program().expression(opened.settings(frame))
