"""The chain as a directed graph: is it whole, and in which order do its nodes run."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from lamphouse.graph.chain.resolve import resolve
from lamphouse.graph.reel.records import ChainRef, NodeRef
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.declare import Signal
from lamphouse.nodes.errors import BadInput, near_names
from lamphouse.nodes.framing import FRAMING

if TYPE_CHECKING:
    import networkx as nx

SCAN: Final = "scan"  # the name under which a wire brings the picture as scanned
TAKEN: Final = {SCAN: "stands for the scan", FRAMING: "stands for where the picture lies in the frame"}


def ordered(chain: ChainRef, catalogue: Catalogue) -> list[NodeRef]:
    """Return the nodes that the output depends on, each after those that feed it.

    The order is stable: among nodes that could run next, the first by name runs. Raises
    BadInput for a name used twice, a dangling wire, a wrong number of wires, or a cycle.
    """
    by_name = _by_name(chain)
    for node in chain.nodes:
        _check_wires(node, by_name, catalogue)
    if chain.output != SCAN and chain.output not in by_name:
        hint = near_names(chain.output, [*by_name, SCAN])
        raise BadInput(f"The chain's output is {chain.output}, which is not in the chain{hint}.")
    return _sorted(chain_graph(chain), by_name, chain.output)


def _by_name(chain: ChainRef) -> dict[str, NodeRef]:
    by_name: dict[str, NodeRef] = {}
    for node in chain.nodes:
        if node.name in by_name or node.name in TAKEN:
            taken = TAKEN.get(node.name, "is used twice")
            raise BadInput(f"The name {node.name} {taken} in the chain; give the node another name.")
        if not node.name or "." in node.name:
            raise BadInput(f"A node cannot be called '{node.name}'; give it a name without a dot.")
        by_name[node.name] = node
    return by_name


def _check_wires(node: NodeRef, by_name: dict[str, NodeRef], catalogue: Catalogue) -> None:
    declared = resolve(node, catalogue)
    wanted = declared.inputs
    if len(node.inputs) != len(wanted):
        raise BadInput(
            f"The node {node.name} takes {len(wanted)} input(s) ({', '.join(wanted) or 'none'}) "
            f"but is wired to {len(node.inputs)}; connect each once."
        )
    for name, source in zip(wanted, node.inputs, strict=True):
        if source != SCAN and source not in by_name:
            raise BadInput(
                f"The node {node.name} is wired to {source}, which is not in the chain"
                f"{near_names(source, [*by_name, SCAN])}."
            )
        if node.kind in catalogue:
            _check_wire(
                f"input {name} of the node {node.name}", name in declared.mattes, source, by_name, catalogue
            )


def _check_wire(
    where: str, takes_matte: bool, source: str, by_name: dict[str, NodeRef], catalogue: Catalogue
) -> None:
    if source != SCAN and by_name[source].kind not in catalogue:
        return  # what a missing node gives cannot be known
    gives_matte = source != SCAN and resolve(by_name[source], catalogue).signal is Signal.MATTE
    if takes_matte != gives_matte:
        kinds = ("a picture", "a matte")
        raise BadInput(
            f"The {where} takes {kinds[takes_matte]}, but {source} gives {kinds[gives_matte]}; wire another."
        )


def chain_graph(chain: ChainRef) -> nx.DiGraph[str]:
    """Return `chain` as a graph of names, from the scan on; each has the `kind` of its node."""
    import networkx as nx

    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_node(SCAN, kind=SCAN)
    for node in chain.nodes:
        graph.add_node(node.name, kind=node.kind)
        graph.add_edges_from((source, node.name) for source in node.inputs)
    return graph


def _sorted(graph: nx.DiGraph[str], by_name: dict[str, NodeRef], output: str) -> list[NodeRef]:
    import networkx as nx

    try:
        order = list(nx.lexicographical_topological_sort(graph))
    except nx.NetworkXUnfeasible:
        cycle = [edge[0] for edge in nx.find_cycle(graph)]
        around = " -> ".join([*cycle, cycle[0]])
        raise BadInput(f"The chain runs in a circle, {around}; remove one of these wires.") from None
    used = nx.ancestors(graph, output) | {output}
    return [by_name[name] for name in order if name in used and name in by_name]
