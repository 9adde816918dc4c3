"""One process node of a CLF file: what all of them have, and how a fault in one is told."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.errors import BadInput, near_names
from lamphouse.nodes.luts.number_text import number, numbers
from lamphouse.nodes.luts.xml_tree import Element

# CLF specification v3.0, "Conversion Between Integer and Normalized Float Scaling".
DEPTH_SCALES: Final = {"8i": 255.0, "10i": 1023.0, "12i": 4095.0, "16i": 65535.0, "16f": 1.0, "32f": 1.0}
CHANNELS: Final = ("R", "G", "B")

Formula = Callable[[Any], Any]  # a picture to a picture


@dataclass(frozen=True, slots=True)
class ClfNode:
    """A process node, its element and the file it stands in. Depths scale its numbers and do nothing else."""

    element: Element
    file: str

    @property
    def where(self) -> str:
        """The file, the line, the name of the element and its id."""
        return self.place(self.element)

    def place(self, element: Element) -> str:
        """Return where `element`, this node's or a child's, stands, for a message."""
        name = element.attributes.get("id") or element.attributes.get("name")
        return f"{self.file}, line {element.line}, {element.name}{f' {name[:60]!r}' if name else ''}"

    def fault(self, what: str, element: Element | None = None) -> BadInput:
        """Return the error to raise: where, what is wrong and what to do, in one sentence."""
        return BadInput(f"{self.place(element or self.element)}: {what}.")

    def depth(self, attribute: str) -> str:
        """Return `inBitDepth` or `outBitDepth`."""
        return self.one_of(attribute, DEPTH_SCALES)

    @property
    def in_scale(self) -> float:
        """What the node's numbers for 1.0 are on its input side."""
        return DEPTH_SCALES[self.depth("inBitDepth")]

    @property
    def out_scale(self) -> float:
        """What the node's numbers for 1.0 are on its output side."""
        return DEPTH_SCALES[self.depth("outBitDepth")]

    def one_of(self, attribute: str, known: Collection[str], default: str = "") -> str:
        """Return an attribute that must be among `known`; where it is left out `default`, if there is one."""
        value = self.element.attributes.get(attribute, default)
        if value in known:
            return value
        what = f"{attribute} = {value[:40]} is not known" if value else f"{attribute} is missing"
        raise self.fault(f"{what}{near_names(value, known)}; correct it")

    def is_true(self, attribute: str) -> bool:
        """Return whether the attribute is there; its value must then be `true`."""
        return bool(self.one_of(attribute, ("", "true")))

    def children(self, name: str) -> list[Element]:
        """Return the child elements of that name."""
        return [child for child in self.element.children if child.name == name]

    def child(self, name: str, within: Element | None = None) -> Element | None:
        """Return the child element of that name, of this node or of `within`, or None."""
        parent = within or self.element
        found = [child for child in parent.children if child.name == name]
        if len(found) > 1:
            raise self.fault(f"{name} stands a second time; keep one of the two", found[1])
        return found[0] if found else None

    def needed(self, name: str, within: Element | None = None) -> Element:
        """Return the child element of that name, or raise BadInput."""
        found = self.child(name, within)
        if found is None:
            raise self.fault(f"it has no {name}; add it", within)
        return found

    def child_number(self, name: str) -> float | None:
        """Return the number in the child element of that name, or None where there is none."""
        child = self.child(name)
        return None if child is None else number(child.text, self.place(child))

    def child_numbers(self, name: str, within: Element, count: int) -> NDArray[np.float64]:
        """Return exactly `count` numbers of the child `name` of `within`, as a column."""
        child = self.needed(name, within)
        words = child.text.split()
        if len(words) != count:
            raise self.fault(
                f"it must hold {count} of them, and holds {len(words)} numbers; correct it", child
            )
        return numbers(words, self.place(child)).reshape(-1, 1)

    def params(self, name: str) -> dict[str, Element]:
        """Return the elements `name` by the channel each is for; one without a channel is for all three."""
        by_channel: dict[str, Element] = {}
        for element in self.children(name):
            channel = element.attributes.get("channel")
            if channel not in (None, *CHANNELS):
                raise self.fault(f"channel = {channel[:40]} is not R, G or B; correct it", element)
            for each in (channel,) if channel else CHANNELS:
                if each in by_channel:
                    raise self.fault(f"channel {each} has parameters already; keep one set", element)
                by_channel[each] = element
        return by_channel

    def param(self, element: Element, name: str, default: float | None = None) -> float:
        """Return the number in an attribute of a params element; where it is left out `default`, if any."""
        text = element.attributes.get(name)
        if text is not None:
            return number(text.strip(), f"{self.place(element)}, {name}")
        if default is None:
            raise self.fault(f"{name} is missing; add it", element)
        return default


def column(values: Any) -> NDArray[np.float64]:
    """Return three numbers as a column, one for each channel."""
    return np.asarray(values, np.float64).reshape(3, 1)
