"""Arrays of numbers in a CLF file that is written."""

from __future__ import annotations

from typing import Any
from xml.etree import ElementTree as ET

import numpy as np
from numpy.typing import NDArray

Array = NDArray[Any]  # float64, or float32 where a table has no more digits


def fill_array(element: ET.Element, array: Array) -> None:
    """Put `array` into `element`, so that every number of its type comes back as itself."""
    word = _single if array.dtype == np.float32 else repr
    rows = array.reshape(-1, array.shape[-1]).tolist()
    lines = (" ".join(map(word, row)) for row in rows)
    dim = " ".join(map(str, array.shape))
    ET.SubElement(element, "Array", dim=dim).text = "\n" + "\n".join(lines) + "\n"


def _single(value: float) -> str:
    return f"{value:.9g}"  # as many digits as tell every two numbers of 32 bits apart
