"""What a program is to a kernel: its steps, and beside them the numbers that are known once a frame.

A kernel depends on the steps and on the shapes of the numbers alone, so that a new value of a setting is a
new number and not new code. What is not known pixel by pixel is computed before, once a frame.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.known import Inputs, known_value
from lamphouse.nodes.primitive import IN_MEMORY
from lamphouse.nodes.trace import CONSTANT, PICTURE, PLACE, Expression, walk

KNOWN: Final = "known"

Array = NDArray[Any]
Structure = tuple[Any, ...]


class Layout:
    """The steps of a program over `pictures`, in order of their names, and what is known once a frame."""

    def __init__(self, program: Expression) -> None:
        self.pictures: list[str] = []
        self._steps: list[Any] = []
        self._known: list[Expression] = []
        self._is_table: list[bool] = []
        self._place: dict[int, int] = {}
        steps = [step for step in walk(program) if step.per_pixel]
        in_memory = {id(a) for step in steps for a in _tables(step)}
        for step in steps or [program]:
            if not step.per_pixel:
                self._know(step, in_memory)
            elif step.primitive in (PICTURE, PLACE):
                self._add(step, (step.primitive, step.name))
                if step.primitive == PICTURE and step.name not in self.pictures:
                    self.pictures.append(step.name)
            else:
                for argument in step.arguments:
                    if not argument.per_pixel and id(argument) not in self._place:
                        self._know(argument, in_memory)
                self._add(step, (step.primitive, *(self._place[id(a)] for a in step.arguments)))
        self.is_fixed = all(k.primitive == CONSTANT for k in self._known)

    def _add(self, step: Expression, entry: Any) -> None:
        self._place[id(step)] = len(self._steps)
        self._steps.append(entry)

    def _know(self, step: Expression, in_memory: set[int]) -> None:
        is_table = id(step) in in_memory
        self._add(step, (KNOWN, is_table, len(self._known)))
        self._known.append(step)
        self._is_table.append(is_table)

    def known(self, inputs: Inputs) -> tuple[Structure, list[Array], list[Array]]:
        """Return the structure, the numbers and the tables of a frame whose inputs have those values."""
        values: dict[int, Any] = {}
        arrays = [np.asarray(known_value(k, inputs, values), np.float32) for k in self._known]
        shapes = tuple(a.shape for a in arrays)
        numbers = [a for a, is_table in zip(arrays, self._is_table, strict=True) if not is_table]
        tables = [_padded(a) for a, is_table in zip(arrays, self._is_table, strict=True) if is_table]
        return (tuple(self._steps), shapes), numbers, tables


def _tables(step: Expression) -> list[Expression]:
    forms = step.signature.takes if step.signature else ()
    return [a for a, form in zip(step.arguments, forms, strict=False) if form in IN_MEMORY]


def _padded(table: Array) -> Array:
    """Return a 3D table with a fourth number after each colour, so that one load takes a node."""
    if table.ndim == 4:
        table = np.concatenate([table, np.zeros((*table.shape[:3], 1), np.float32)], axis=3)
    return np.ascontiguousarray(table, np.float32)
