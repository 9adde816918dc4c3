"""A program becomes a process list: what has a name keeps it, the rest becomes tables."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from lamphouse.graph.handover.approximation import Approximation, apply_all
from lamphouse.graph.handover.bakes import Bake, Bench, best_1d, best_3d, described, differences
from lamphouse.graph.handover.exact_nodes import exact_node, is_close, matrices_joined, tidied
from lamphouse.graph.handover.segments import Segment, constants, joined, segments
from lamphouse.graph.handover.tables import curve_table
from lamphouse.nodes.luts.clf.process_node import ProcessNode
from lamphouse.nodes.trace import Expression

# A toe whose slope follows from its exponent, as the format has it, stands for ours within this in all.
CLOSE: Final = 1e-5


def to_process_list(program: Expression, name: str, points: int = 65) -> Approximation:
    """Return the process list of a bound `program` of one picture: codes 0..1 to video signal.

    Where no node is exact a lattice of `points` along each axis stands in, or a table per channel.
    """
    bench = Bench(_gathered(segments(program)))
    known, curves = _known(bench, [exact_node(part) for part in bench.parts])
    baked = _baked(bench, known, curves, points)
    exact = [c for c in curves if all(c in _outside(b, curves) for b in baked)]
    nodes = _laid(known, [*exact, *baked], len(bench.parts))
    errors = differences(apply_all(nodes, bench.judged[0]), bench.judged[-1])
    tables = {id(bake.nodes[-1]) for bake in baked}
    return Approximation(
        name=name,
        nodes=tuple(nodes),
        largest=float(errors.max()),
        mean=float(errors.mean()),
        measured=errors.size,
        inexact=tuple(node for node in nodes if id(node) in tables or is_close(node)),
    )


def _baked(bench: Bench, known: dict[int, ProcessNode], exact: list[Bake], points: int) -> list[Bake]:
    """Return a table for every segment that is neither `known` nor one of the `exact` curves."""
    count = len(bench.parts)
    unnamed = [i for i in range(count) if i not in known and all(i != bake.start for bake in exact)]
    solids = [index for index in unnamed if not bench.parts[index].is_elementwise]
    needed = [index for index in unnamed if index not in solids]
    curves: list[Bake] = []
    while needed:
        curves.append(best_1d(bench, needed, curves[-1].stop if curves else 0))
        needed = [index for index in needed if index >= curves[-1].stop]
    fixed = [*curves, *exact]
    lattices = best_3d(bench, solids, fixed, points) if solids else []
    for lattice in lattices:
        curves = _outside(lattice, curves)
    return [*lattices, *described(bench, curves)]


def _outside(bake: Bake, others: list[Bake]) -> list[Bake]:
    return [b for b in others if b.stop <= bake.start or b.start >= bake.stop]


def _gathered(parts: list[Segment]) -> list[Segment]:
    """Return `parts` with neighbours as one where both are straight, or where neither has a name."""
    result: list[Segment] = []
    kinds: list[str] = []
    for part in parts:
        kind = _kind(part)
        if result and kind == kinds[-1] and kind != "named":
            result[-1] = joined([result[-1], part])
        else:
            result.append(part)
            kinds.append(kind)
    return result


def _kind(part: Segment) -> str:
    if part.affine() is not None:
        return "straight"
    if exact_node(part) is not None or _curve(part):
        return "named"
    return "elementwise" if part.is_elementwise else "solid"


def _curve(part: Segment) -> bool:
    return part.program.primitive == "curve" and constants(part) is not None


def _known(bench: Bench, exact: list[ProcessNode | None]) -> tuple[dict[int, ProcessNode], list[Bake]]:
    """Return what is exact by its place, and the curves as tables that are exact as well."""
    share = CLOSE / max(1, sum(is_close(node) for node in exact if node is not None))
    known: dict[int, ProcessNode] = {}
    curves = []
    for index, (part, node) in enumerate(zip(bench.parts, exact, strict=True)):
        if node is not None and (checked := _checked(bench, index, node, share)) is not None:
            known[index] = checked
        elif _curve(part):
            nodes = curve_table(part, bench.wide[index])
            curves += [] if nodes is None else [Bake(index, index + 1, tuple(nodes))]
    return known, curves


def _checked(bench: Bench, index: int, node: ProcessNode, share: float) -> ProcessNode | None:
    if not is_close(node):
        return node
    largest, _ = bench.error(Bake(index, index + 1, (node,)), beyond=True)
    if largest > share:
        return None
    words = f"{bench.parts[index].words}, its straight part by the format's own slope: within {largest:.2g}"
    return replace(node, descriptions=(words,))


def _laid(known: dict[int, ProcessNode], bakes: list[Bake], count: int) -> list[ProcessNode]:
    """Return the nodes of the whole in order."""
    by_start = {bake.start: bake for bake in bakes}
    result: list[ProcessNode] = []
    run: list[ProcessNode] = []
    index = 0
    while index < count:
        if (bake := by_start.get(index)) is not None:
            result += [*tidied(run), *bake.nodes]
            run, index = [], bake.stop
        else:
            run.append(known[index])
            index += 1
    return matrices_joined([*result, *tidied(run)])
