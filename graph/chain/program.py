"""Chain and choices become one expression, and with a frame's settings a program."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.order import SCAN, ordered
from lamphouse.graph.chain.resolve import resolve
from lamphouse.graph.reel.records import ChainRef
from lamphouse.nodes.apply import choices, frame_values, trace
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.colour_encoding import WORKING_PRIMARIES, ColourEncoding
from lamphouse.nodes.declare import Reach, Signal
from lamphouse.nodes.signals import convert
from lamphouse.nodes.trace import Expression, picture
from lamphouse.nodes.values import Settings, Value

TRACED: Final = 8  # programs held, one for each combination of choices


def node_settings(settings: Settings, name: str) -> dict[str, Value]:
    """Return the settings of the node called `name`, by parameter."""
    prefix = name + "."
    return {key[len(prefix) :]: value for key, value in settings.items() if key.startswith(prefix)}


def as_scanned(colour: ColourEncoding) -> Expression:
    """Return the maths from codes of `colour` to video signal, with no correction."""
    result: Expression = convert(*colour.decoded(picture(SCAN)), Signal.VIDEO)
    return result


class Program:
    """A chain made ready: its order checked, its maths traced when its choices are known.

    The scan's codes are of `encoding` and `primaries`. Files that settings name are taken from `folder`,
    the reel's own.
    """

    def __init__(
        self,
        chain: ChainRef,
        encoding: str,
        catalogue: Catalogue,
        folder: Path = Path(),
        *,
        primaries: str = WORKING_PRIMARIES,
    ) -> None:
        self._nodes = [(ref, resolve(ref, catalogue)) for ref in ordered(chain, catalogue)]
        self._folder = folder
        self._output = chain.output
        self._colour = ColourEncoding(encoding, primaries)
        # A change of choice may bring a whole table with it: few are held.
        self._traced = lru_cache(maxsize=TRACED)(self._trace)

    def beyond_point(self) -> list[str]:
        """Return the names of nodes whose result depends on more than each pixel's own value."""
        return [ref.name for ref, node in self._nodes if node.reach is not Reach.POINT]

    def expression(self, settings: Settings) -> Expression:
        """Return the maths from the scan to video signal; only choices are taken from `settings`."""
        chosen = (choices(node, node_settings(settings, ref.name), self._folder) for ref, node in self._nodes)
        return self._traced(tuple(tuple(c.items()) for c in chosen))

    def numbers(
        self, settings: Settings, wanted: Callable[[str], bool] = lambda node: True
    ) -> dict[str, NDArray[np.float64]]:
        """Return the value of every frame input under `settings`, of the nodes `wanted` by name."""
        numbers: dict[str, NDArray[np.float64]] = {}
        for ref, node in self._nodes:
            if not wanted(ref.name):
                continue
            arrays = frame_values(node, node_settings(settings, ref.name))
            numbers.update({f"{ref.name}.{key}": value for key, value in arrays.items()})
        return numbers

    def _trace(self, chosen: tuple[tuple[tuple[str, str], ...], ...]) -> Expression:
        pictures: dict[str, tuple[Expression, Signal]] = {SCAN: self._colour.decoded(picture(SCAN))}
        for (ref, node), its_choices in zip(self._nodes, chosen, strict=True):
            sources = [
                convert(*pictures[source], Signal.MATTE if name in node.mattes else node.signal)
                for name, source in zip(node.inputs, ref.inputs, strict=True)
            ]
            pictures[ref.name] = (trace(node, ref.name, sources, dict(its_choices)), node.signal)
        result: Expression = convert(*pictures[self._output], Signal.VIDEO)
        return result
