"""Parameters of a CLF node that differ from channel to channel, or leave a channel alone."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from lamphouse.nodes.luts.clf_node import CHANNELS, ClfNode, Formula, column
from lamphouse.nodes.luts.xml_tree import Element
from lamphouse.nodes.maths import select

Columns = tuple[np.ndarray[Any, np.dtype[np.float64]], ...]


def by_channel(
    node: ClfNode,
    params: dict[str, Element],
    numbers_of: Callable[[ClfNode, Element], tuple[float, ...]],
    maths: Callable[..., Any],
) -> Formula:
    """Return `maths(rgb, *numbers)`, its numbers being columns of what `numbers_of` finds for each channel.

    A channel without parameters of its own passes unchanged.
    """
    any_element = next(iter(params.values()))
    rows = [numbers_of(node, params.get(channel, any_element)) for channel in CHANNELS]
    columns: Columns = tuple(column(values) for values in zip(*rows, strict=True))
    named = column([float(channel in params) for channel in CHANNELS])

    def step(rgb: Any) -> Any:
        done = maths(rgb, *columns)
        return done if named.all() else select(named, done, rgb)

    return step
