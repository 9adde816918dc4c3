"""Parameters of a CLF node that differ from channel to channel, or leave a channel alone."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import MISSING, dataclass, fields
from typing import Any, Final, TypeVar
from xml.etree import ElementTree as ET

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.luts.clf.fault import require
from lamphouse.nodes.luts.clf.names import camel
from lamphouse.nodes.luts.clf.node_element import NodeElement
from lamphouse.nodes.luts.clf.process_node import Formula
from lamphouse.nodes.luts.xml_tree import Element
from lamphouse.nodes.maths import select

CHANNELS: Final = ("R", "G", "B")


@dataclass(frozen=True, slots=True, kw_only=True)
class Params:
    """Parameters of one channel, or of all three where it is None. Each field is an attribute in a file."""

    channel: str | None = None

    def __post_init__(self) -> None:
        shown = str(self.channel)[:40]
        require(self.channel in (None, *CHANNELS), f"channel = {shown} is not R, G or B; correct it")
        self.check()

    def check(self) -> None:
        """Raise Fault where the numbers make no sense."""


P = TypeVar("P", bound=Params)


def read_params(
    source: NodeElement,
    element: str,
    kind: type[P],
    check: Callable[[P], None],
    left_out: Collection[str] = (),
) -> tuple[P, ...]:
    """Return the parameters in the children `element`, without the fields that are `left_out`.

    `check` raises Fault for what the node's style does not take.
    """
    found = []
    for child in source.children(element):
        with source.telling(child):
            found.append(_read(source, child, kind, left_out))
            check(found[-1])
    return tuple(found)


def _read(source: NodeElement, element: Element, kind: type[P], left_out: Collection[str]) -> P:
    found: dict[str, Any] = {"channel": element.attributes.get("channel")}
    for field in fields(kind):
        if field.name in ("channel", *left_out):
            continue
        if (value := source.number(element, camel(field.name))) is not None:
            found[field.name] = value
        elif field.default is MISSING:
            raise source.fault(f"{camel(field.name)} is missing; add it", element)
    return kind(**found)


def fill_params(parent: ET.Element, element: str, params: Sequence[Params]) -> None:
    """Put `params` into `parent`."""
    for each in params:
        given = [(f.name, getattr(each, f.name)) for f in fields(each)]
        words = {camel(n): v if n == "channel" else repr(v) for n, v in given if v is not None}
        ET.SubElement(parent, element, words)


def by_channel(params: Sequence[P]) -> dict[str, P]:
    """Return `params` by the channel each is for. Raises Fault where one has two."""
    found: dict[str, P] = {}
    for one in params:
        for channel in (one.channel,) if one.channel else CHANNELS:
            require(channel not in found, f"channel {channel} has parameters already; keep one set")
            found[channel] = one
    return found


def column(values: Any) -> NDArray[np.float64]:
    """Return three numbers as a column, one for each channel."""
    return np.asarray(values, np.float64).reshape(3, 1)


def channel_formula(
    params: Sequence[P], numbers_of: Callable[[P], tuple[float, ...]], maths: Callable[..., Any]
) -> Formula:
    """Return `maths(rgb, *numbers)`, its numbers being columns of what `numbers_of` finds for each channel.

    A channel without parameters of its own passes unchanged.
    """
    given = by_channel(params)
    rows = [numbers_of(given.get(channel, params[0])) for channel in CHANNELS]
    columns = tuple(column(values) for values in zip(*rows, strict=True))
    named = column([float(channel in given) for channel in CHANNELS])

    def formula(rgb: Any) -> Any:
        done = maths(rgb, *columns)
        return done if named.all() else select(named, done, rgb)

    return formula
