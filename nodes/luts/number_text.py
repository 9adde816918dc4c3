"""Numbers as LUT files write them: many, fast, and every one of them finite."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.maths import LARGEST

FORM: Final = "give a plain finite number such as 0.5, -.03 or 1e-3"


def number(word: str, where: str) -> float:
    """Return the number that `word` is, or raise BadInput that begins with `where`."""
    return float(numbers([word], where)[0])


def numbers(words: Iterable[str], where: str) -> NDArray[np.float64]:
    """Return the finite numbers that `words` are, or raise BadInput with the first that is none.

    Beyond LARGEST the numbers of a picture overflow in the next step or two; no LUT means such a value.
    """
    words = list(words)
    values = not_always_finite(words, where)
    wrong = ~(np.abs(values) <= LARGEST)
    if wrong.any():
        raise BadInput(f"{where}: {words[int(np.argmax(wrong))]} is not a finite number; {FORM}.")
    return values


def not_always_finite(words: list[str], where: str) -> NDArray[np.float64]:
    """Return the numbers that `words` are, `inf` and `nan` among them, or raise BadInput."""
    if _is_plain("".join(words)):
        with suppress(ValueError):
            return np.array([float(word) for word in words])
    wrong = next(word for word in words if not _is_number(word))
    raise BadInput(f"{where}: {wrong[:40]!r} is not a number; {FORM}.")


def _is_number(word: str) -> bool:
    try:
        float(word)
    except ValueError:
        return False
    return _is_plain(word)


def _is_plain(text: str) -> bool:
    # Python reads 1_000, and the digits of every script; no other reader would.
    return text.isascii() and "_" not in text
