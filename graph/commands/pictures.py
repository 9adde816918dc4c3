"""One frame, one cue as a LUT, and what every node does."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from lamphouse.graph.commands.options import Json, Place, ReelFile
from lamphouse.nodes.errors import BadInput


def frame(
    reel_file: ReelFile,
    at: Place,
    output: Annotated[Path, typer.Option("-o", "--output", metavar="FILE", help="A .png, .tif, .jpg, .exr.")],
    before: Annotated[bool, typer.Option("--before", help="As scanned, every correction neutral.")] = False,
) -> None:
    """Write one frame, graded or as scanned."""
    from lamphouse.graph.commands.notes import note_missing
    from lamphouse.graph.cues.place import counter
    from lamphouse.graph.grade import Grade
    from lamphouse.graph.media.still import write_still
    from lamphouse.graph.store import load
    from lamphouse.graph.transfer import reel_scan
    from lamphouse.nodes.catalogue import Catalogue

    reel = load(reel_file)
    number = counter(reel).find(at)
    catalogue = Catalogue()
    note_missing(reel.chain, catalogue)
    with reel_scan(reel, reel_file) as scan, Grade(reel, catalogue, reel_file.parent) as grade:
        scanned = scan.read(number)
        write_still(output, grade.as_scanned(scanned) if before else grade.correct(number, scanned))


def lut(
    reel_file: ReelFile,
    cue: Annotated[str, typer.Option(metavar="NAME", help="The cue, by name or by its place.")],
    output: Annotated[Path, typer.Option("-o", "--output", metavar="FILE", help="A .cube.")],
    points: Annotated[int, typer.Option(help="Points along each axis: 17, 33 or 65.")] = 33,
) -> None:
    """Write one cue as a LUT, and say what the table costs in exactness."""
    from lamphouse.graph.chain.resolve import refuse_missing
    from lamphouse.graph.edit import find_cue
    from lamphouse.graph.grade import Grade
    from lamphouse.graph.handover.cube import SIZES, bake, write_cube
    from lamphouse.graph.store import load
    from lamphouse.nodes.catalogue import Catalogue

    if output.suffix.lower() != ".cube":
        raise BadInput(f"{output}: a LUT is written as a .cube file; give such a name.")
    if points not in SIZES:
        raise BadInput(f"--points {points} is no size of a table here; give 17, 33 or 65.")
    reel = load(reel_file)
    chosen = find_cue(reel, cue)
    catalogue = Catalogue()
    refuse_missing(reel.chain, catalogue)
    with Grade(reel, catalogue, reel_file.parent) as grade:
        if beyond := grade.beyond_point(chosen.frame):
            raise BadInput(f"The node {beyond[0]} depends on the place in the picture; no LUT can carry it.")
        cube = bake(lambda colours: grade.correct(chosen.frame, colours), points)
    write_cube(output, cube, f"{reel_file.stem} {chosen.name or chosen.frame}")
    typer.echo(
        f"{output}: {points} points; largest error {cube.largest:.6f}, mean {cube.mean:.6f} of reference "
        f"white, over {cube.measured} colours, read by tetrahedra."
    )


def nodes(
    name: Annotated[str | None, typer.Argument(metavar="NAME", help="A node.")] = None, as_json: Json = False
) -> None:
    """Show the nodes: parameters, units, ranges, sources."""
    import json

    from lamphouse.nodes.catalogue import Catalogue

    catalogue = Catalogue()
    shown = [catalogue.find(name)] if name else list(catalogue.values())
    if as_json:
        typer.echo(json.dumps([_described(node) for node in shown], indent=2))
        return
    for node in shown:
        typer.echo(f"{node.name:<12}{node.sentence}" if not name else _page(node))


def _described(node: Any) -> dict[str, Any]:
    from dataclasses import asdict

    described = asdict(node)
    return {key: value for key, value in described.items() if key not in ("body", "derive")}


def _page(node: Any) -> str:
    lines = [node.sentence, f"Works in {node.signal}; depends on {_reach_text(node.reach)}."]
    if node.source:
        lines.append(f"Source: {node.source}.")
    for p in node.parameters:
        lines += ["", f"{node.name}.{p.name}  {p.sentence}", f"  {_range_text(p)}; {_travel_text(p)}"]
        lines.append(f"  Source: {p.source}.")
    return "\n".join(lines)


def _reach_text(reach: str) -> str:
    return {
        "point": "each pixel alone",
        "place": "the place in the picture",
        "area": "neighbouring pixels",
    }[reach]


def _range_text(p: Any) -> str:
    if p.choices:
        return f"{' or '.join(p.choices)}; neutral is {p.default}"
    unit = f" {p.unit}" if p.unit else ""
    if p.kind == "white":
        return f"a {p.kind},{unit}; neutral is {p.default[0]:g},{p.default[1]:g}"
    kind = {"number": "", "triple": "red, green, blue, each ", "points": "points, 0 to 1 across, "}[p.kind]
    return f"{kind}{p.low:g} to {p.high:g}{unit}; neutral is {_default_text(p.default)}"


def _default_text(default: Any) -> str:
    if isinstance(default, tuple) and isinstance(default[0], tuple):
        return " ".join(_default_text(point) for point in default)
    return ",".join(f"{v:g}" for v in default) if isinstance(default, tuple) else f"{default:g}"


def _travel_text(p: Any) -> str:
    return {
        "linear": "travels in equal steps",
        "log": "travels in equal ratios",
        "points": "travels as a whole curve",
        "step": "changes on arrival",
    }[p.travel]
