"""The nodes of this machine: those that come with Lamphouse, and those of its plug-ins."""

import os

from lamphouse.nodes.catalogue import NODES, Catalogue
from lamphouse.nodes.host.find import find_plugins


def installed() -> Catalogue:
    """Return all nodes here. Plug-ins are looked for when a name is asked for that did not come with us."""
    return Catalogue(NODES, lambda: find_plugins(os.environ))
