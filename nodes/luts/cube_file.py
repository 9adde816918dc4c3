"""The `.cube` text LUT, 1D and 3D.

Form: *Cube LUT Specification, Version 1.0* (2013), second-hand: red index changes fastest, domain 0..1
where the file names no other. Input outside the domain is held to it (from memory).
"""

from __future__ import annotations

import re
from typing import Any, Final, NoReturn

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.luts.lut import TETRAHEDRAL, Lut, Step, table_1d, table_3d
from lamphouse.nodes.luts.number_text import numbers
from lamphouse.nodes.maths import offset, scale

# Cube LUT Specification 1.0, second-hand.
SIZES: Final = {"LUT_1D_SIZE": range(2, 65537), "LUT_3D_SIZE": range(2, 257)}
DOMAINS: Final = ("DOMAIN_MIN", "DOMAIN_MAX")


def read_cube(text: str, where: str) -> Lut:
    """Return the LUT in the text of a `.cube` file; `where` names the file.

    Raises BadInput, with the line, for what the form does not allow.
    """
    file = _File(where)
    for number, line in enumerate(text.splitlines(), start=1):
        file.line(number, line.split())
    return file.lut()


class _File:
    def __init__(self, where: str) -> None:
        self._where = where
        self._title = ""
        self._sizes: dict[str, int] = {}
        self._domain = {"DOMAIN_MIN": (0.0, 0.0, 0.0), "DOMAIN_MAX": (1.0, 1.0, 1.0)}
        self._rows: list[list[str]] = []
        self._row_lines: list[int] = []

    def line(self, number: int, words: list[str]) -> None:
        if not words or words[0].startswith("#"):
            return
        if words[0][0] in "+-.0123456789":
            self._rows.append(words)
            self._row_lines.append(number)
            if len(words) != 3:
                self._refuse(number, f"{len(words)} numbers where a row has three")
        elif words[0] == "TITLE":
            self._title = " ".join(words[1:]).strip('"')
        elif words[0] in SIZES:
            self._sizes[words[0]] = self._size(number, *words)
        elif words[0] in DOMAINS:
            self._domain[words[0]] = self._corner(number, words)
        else:
            self._refuse(number, f"the keyword {words[0]} is not known")

    def lut(self) -> Lut:
        if len(self._sizes) != 1:
            raise BadInput(
                f"{self._where} must have one line LUT_1D_SIZE or LUT_3D_SIZE, not {len(self._sizes)}; "
                "write the LUT again."
            )
        ((kind, size),) = self._sizes.items()
        wanted = size if kind == "LUT_1D_SIZE" else size**3
        if len(self._rows) != wanted:
            raise BadInput(
                f"{self._where} has {len(self._rows)} rows of numbers, but {kind} {size} wants {wanted}; "
                "it may be cut off: write the LUT again."
            )
        rows = self._numbers()
        if kind == "LUT_1D_SIZE":
            table = table_1d(rows.T.copy())
        else:
            # Red fastest: the file's axes are blue, green, red.
            table = table_3d(rows.reshape(size, size, size, 3).transpose(2, 1, 0, 3).copy(), TETRAHEDRAL)
        low, high = (np.array(self._domain[name])[:, None] for name in DOMAINS)
        return Lut(self._title, (*self._to_domain(), table), (low, high))

    def _to_domain(self) -> tuple[Step, ...]:
        low, high = (np.array(self._domain[name])[:, None] for name in DOMAINS)
        if (low >= high).any():
            raise BadInput(f"{self._where}: DOMAIN_MIN must lie below DOMAIN_MAX; write the LUT again.")
        if (low == 0).all() and (high == 1).all():
            return ()
        return (lambda rgb, between: scale(offset(rgb, -low), 1 / (high - low)),)

    def _numbers(self) -> NDArray[np.float64]:
        try:
            rows = numbers((word for row in self._rows for word in row), self._where)
        except BadInput:
            for line, row in zip(self._row_lines, self._rows, strict=True):
                numbers(row, f"{self._where}, line {line}")
            raise
        return rows.reshape(-1, 3)

    def _size(self, number: int, kind: str, *words: str) -> int:
        if len(words) != 1 or not re.fullmatch("[0-9]{1,6}", words[0]) or int(words[0]) not in SIZES[kind]:
            low, high = SIZES[kind][0], SIZES[kind][-1]
            self._refuse(number, f"{kind} takes one whole number from {low} to {high}")
        return int(words[0])

    def _corner(self, number: int, words: list[str]) -> Any:
        if len(words) != 4:
            self._refuse(number, f"{words[0]} takes three numbers, not {len(words) - 1}")
        return tuple(numbers(words[1:], f"{self._where}, line {number}").tolist())

    def _refuse(self, number: int, what: str) -> NoReturn:
        raise BadInput(f"{self._where}, line {number}: {what}; write the LUT again, or mend that line.")
