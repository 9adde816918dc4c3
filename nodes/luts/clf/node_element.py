"""One process node of a CLF file as it is read: what all of them have, and how a fault in one is told."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from math import prod
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.errors import BadInput, near_names
from lamphouse.nodes.luts.clf.depths import DEPTH_SCALES
from lamphouse.nodes.luts.clf.fault import Fault
from lamphouse.nodes.luts.number_text import number, numbers
from lamphouse.nodes.luts.xml_tree import Element


@dataclass(frozen=True, slots=True)
class NodeElement:
    """The element of a process node, and the file it stands in."""

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

    @contextmanager
    def telling(self, element: Element | None = None) -> Iterator[None]:
        """Tell the fault of a record that is made within, with its place."""
        try:
            yield
        except Fault as fault:
            raise self.fault(str(fault), element) from fault

    def common(self) -> dict[str, Any]:
        """Return what every process node has, by the fields of its record."""
        return {
            "id": self.element.attributes.get("id", ""),
            "name": self.element.attributes.get("name", ""),
            "in_depth": self.one_of("inBitDepth", DEPTH_SCALES),
            "out_depth": self.one_of("outBitDepth", DEPTH_SCALES),
            "descriptions": tuple(child.text for child in self.children("Description")),
        }

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

    def child_numbers(self, name: str, within: Element, count: int) -> list[float]:
        """Return exactly `count` numbers of the child `name` of `within`."""
        child = self.needed(name, within)
        words = child.text.split()
        if len(words) != count:
            raise self.fault(
                f"it must hold {count} of them, and holds {len(words)} numbers; correct it", child
            )
        return [float(n) for n in numbers(words, self.place(child))]

    def number(self, element: Element, attribute: str) -> float | None:
        """Return the number in an attribute of a child element, or None where there is none."""
        text = element.attributes.get(attribute)
        return None if text is None else number(text.strip(), f"{self.place(element)}, {attribute}")

    def array(self, axes: int, *others: int, parsed: Any = numbers) -> NDArray[np.float64]:
        """Return the Array, of as many `axes`; its dim may have as many more numbers as `others` say."""
        text = self.needed("Array").attributes.get("dim", "")
        dim = text.split()
        if len(dim) not in (axes, *others) or not all(
            w.isascii() and w.isdigit() and len(w) < 9 for w in dim
        ):
            raise self.fault(f"its Array has the dim {text[:40]!r}; give {axes} whole numbers")
        shape = [int(word) for word in dim[:axes]]
        words = self.needed("Array").text.split()
        if len(words) != prod(shape):
            raise self.fault(
                f"its Array holds {len(words)} numbers and dim asks for {prod(shape)}; fetch the whole file"
            )
        return np.asarray(parsed(words, self.where), np.float64).reshape(shape)
