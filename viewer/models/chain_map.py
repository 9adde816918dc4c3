"""Where the nodes of a chain are drawn: in columns from the scan to what leaves, so that nobody has to tidy.

The first row is the picture's main way: from what leaves back to the scan by the first input of each node.
Branches and mattes lie below it.
"""

from __future__ import annotations

from typing import Final, NamedTuple

from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.reel.records import ChainRef, NodeRef

CHAIN_OUTPUT: Final = ""  # stands for the chain's output; no node can have this name


class Spot(NamedTuple):
    """A place of the map, counted from the scan's."""

    column: int
    row: int


def chain_map(chain: ChainRef) -> dict[str, Spot]:
    """Return the place of the scan, of every node, and of what leaves, no two the same.

    A broken chain, with circles or wires from nowhere, has a map as well.
    """
    columns, main = _columns(chain), _main_way(chain)
    rest = sorted(columns.keys() - set(main), key=lambda name: (columns[name], name))
    spots: dict[str, Spot] = {}
    for name in (*main, *rest):
        row = 0 if name in main else 1
        while Spot(columns[name], row) in spots.values():
            row += 1
        spots[name] = Spot(columns[name], row)
    return spots


def used(chain: ChainRef) -> set[str]:
    """Return the names of the nodes on which what leaves depends."""
    by_name = {ref.name: ref for ref in chain.nodes}
    found: set[str] = set()
    wanted = [chain.output]
    while wanted:
        name = wanted.pop()
        if name in by_name and name not in found:
            found.add(name)
            wanted += by_name[name].inputs
    return found


def _columns(chain: ChainRef) -> dict[str, int]:
    by_name = {ref.name: ref for ref in chain.nodes}
    columns = {SCAN: 0}
    for ref in chain.nodes:
        _find_column(ref, by_name, columns, ())
    for ref in chain.nodes:
        if not ref.inputs:  # beside the chain, just before where it is taken
            readers = [columns[other.name] for other in chain.nodes if ref.name in other.inputs]
            columns[ref.name] = max(1, min(readers, default=1) - 1)
    columns[CHAIN_OUTPUT] = max(columns.values()) + 1
    return columns


def _find_column(
    ref: NodeRef, by_name: dict[str, NodeRef], columns: dict[str, int], above: tuple[str, ...]
) -> int:
    """Return how many nodes lie between the scan and `ref` at most, and itself; a circle counts once."""
    if ref.name not in columns:
        sources = [by_name[i] for i in ref.inputs if i in by_name and i not in (*above, ref.name)]
        before = [_find_column(source, by_name, columns, (*above, ref.name)) for source in sources]
        columns[ref.name] = 1 + max(before, default=0)
    return columns[ref.name]


def _main_way(chain: ChainRef) -> list[str]:
    by_name = {ref.name: ref for ref in chain.nodes}
    way, name = [SCAN, CHAIN_OUTPUT], chain.output
    while name in by_name and name not in way:
        way.append(name)
        name = next(iter(by_name[name].inputs), "")
    return way
