"""The nodes of this machine: those that come with Lamphouse, and those of its plug-ins."""

import os

from lamphouse.nodes.catalogue import NODES, Catalogue
from lamphouse.nodes.declare import Node
from lamphouse.nodes.host.find import find_plugins


def installed() -> Catalogue:
    """Return all nodes here. Plug-ins are looked for when a name is asked for that did not come with us."""
    return Catalogue(NODES, lambda: find_plugins(os.environ), _faults)


def _faults(node: Node) -> list[str]:
    from lamphouse.graph.chain.trial import all_faults

    return all_faults(node)
