"""The nodes that come with the tool, and how one is found by name."""

import threading
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from typing import Final

from lamphouse.nodes.corrections.blend import BLEND
from lamphouse.nodes.corrections.cdl import CDL
from lamphouse.nodes.corrections.curves import CURVES
from lamphouse.nodes.corrections.dye_fade import DYE_FADE
from lamphouse.nodes.corrections.ellipse import ELLIPSE
from lamphouse.nodes.corrections.exposure import EXPOSURE
from lamphouse.nodes.corrections.film_base import FILM_BASE
from lamphouse.nodes.corrections.graduated import GRADUATED
from lamphouse.nodes.corrections.knee import KNEE
from lamphouse.nodes.corrections.limit import LIMIT
from lamphouse.nodes.corrections.lut import LUT
from lamphouse.nodes.corrections.mix import MIX
from lamphouse.nodes.corrections.primary import PRIMARY
from lamphouse.nodes.corrections.printer_lights import PRINTER_LIGHTS
from lamphouse.nodes.corrections.saturation import SATURATION
from lamphouse.nodes.corrections.secondary import SECONDARY
from lamphouse.nodes.corrections.white_balance import WHITE_BALANCE
from lamphouse.nodes.declare import Node
from lamphouse.nodes.errors import BadInput, near_names
from lamphouse.nodes.host.check import Check, faults
from lamphouse.nodes.host.find import Finds
from lamphouse.nodes.host.plugins import Plugins

NODES: Final = (
    BLEND,
    CDL,
    CURVES,
    DYE_FADE,
    ELLIPSE,
    EXPOSURE,
    FILM_BASE,
    GRADUATED,
    KNEE,
    LIMIT,
    LUT,
    MIX,
    PRIMARY,
    PRINTER_LIGHTS,
    SATURATION,
    SECONDARY,
    WHITE_BALANCE,
)


class Catalogue(Mapping[str, Node]):
    """Nodes by name: `nodes`, and those of plug-ins: `find` finds them, `check` says what is wrong with one.

    To ask for a node of a plug-in imports its code, once; one that then turns out broken is not here, and
    `reason` says why. To go through all of them imports every plug-in.
    """

    def __init__(
        self,
        nodes: Iterable[Node] = NODES,
        find: Callable[[], Finds] = Finds,
        check: Check = faults,
    ) -> None:
        self._nodes = {node.name: node for node in nodes}
        self._find, self._check = find, check
        self._lock = threading.Lock()
        self._plugins: Plugins | None = None

    @property
    def plugins(self) -> Plugins:
        """The plug-ins, looked for when they are first asked for, once, whichever thread asks."""
        with self._lock:
            if self._plugins is None:
                self._plugins = Plugins(self._find(), self._nodes, self._check)
            return self._plugins

    def __getitem__(self, name: str) -> Node:
        if name in self._nodes:
            return self._nodes[name]
        plugin = self.plugins.of(name)
        node = plugin.node(name) if plugin else None
        if node is None:
            raise KeyError(name)
        return node

    def __iter__(self) -> Iterator[str]:
        yield from self._nodes
        yield from (name for name in self.plugins.names if name in self)

    def __len__(self) -> int:
        return sum(1 for _ in self)

    @property
    def names(self) -> list[str]:
        """The name of every node that is here or that a manifest promises. No plug-in is imported for it."""
        return [*self._nodes, *self.plugins.names]

    def find(self, name: str) -> Node:
        """Return the node `name`, or raise BadInput with near names or with its plug-in's trouble."""
        node = self.get(name)
        if node is not None:
            return node
        if self.plugins.of(name):
            raise BadInput(f"The node {name} is not available, for {self.reason(name)}.")
        raise BadInput(f"There is no node called {name}{near_names(name, self.names)}.")

    def reason(self, name: str) -> str:
        """Return why the node `name` is not available, as a clause."""
        return self.plugins.reason(name, self.names)

    def source(self, name: str) -> str:
        """Return where the node `name` comes from: a file, a distribution, or nothing for our own."""
        plugin = None if name in self._nodes else self.plugins.of(name)
        return plugin.found.origin if plugin else ""

    def files(self, name: str) -> list[Path]:
        """Return the files that hold the code of the node `name`: those of its plug-in, none for our own."""
        plugin = None if name in self._nodes else self.plugins.of(name)
        return plugin.found.files if plugin else []
