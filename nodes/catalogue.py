"""The nodes that come with the tool, and how one is found by name."""

from collections.abc import Iterable, Iterator, Mapping
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
from lamphouse.nodes.corrections.passage import PASSAGE
from lamphouse.nodes.corrections.primary import PRIMARY
from lamphouse.nodes.corrections.printer_lights import PRINTER_LIGHTS
from lamphouse.nodes.corrections.saturation import SATURATION
from lamphouse.nodes.corrections.secondary import SECONDARY
from lamphouse.nodes.corrections.white import WHITE
from lamphouse.nodes.declare import Node
from lamphouse.nodes.errors import BadInput, near_names

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
    PASSAGE,
    PRIMARY,
    PRINTER_LIGHTS,
    SATURATION,
    SECONDARY,
    WHITE,
)


class Catalogue(Mapping[str, Node]):
    """Nodes by name. A name that is not there is one clear sentence, with near names."""

    def __init__(self, nodes: Iterable[Node] = NODES) -> None:
        self._nodes = {node.name: node for node in nodes}

    def __getitem__(self, name: str) -> Node:
        return self._nodes[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._nodes)

    def __len__(self) -> int:
        return len(self._nodes)

    def find(self, name: str) -> Node:
        """Return the node `name`, or raise BadInput with near names."""
        if name in self._nodes:
            return self._nodes[name]
        raise BadInput(f"There is no node called {name}{near_names(name, self._nodes)}.")

    def reason(self, name: str) -> str:
        """Return why the node `name` cannot be had, as a clause."""
        return f"no plug-in here has {name}{near_names(name, self._nodes, or_all=False)}"
