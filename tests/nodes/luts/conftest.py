"""A CLF file around the process nodes of a test, as text and as a LUT."""

import numpy as np
import pytest

from lamphouse.nodes.luts.clf.file import read_clf

HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n'
ROOT = 'id="a" compCLFversion="3.0"'


def _clf_text(nodes: str, root: str = ROOT) -> str:
    """Return a file whose process nodes begin in line 3."""
    return f"{HEAD}<ProcessList {root}>\n{nodes}\n</ProcessList>\n"


@pytest.fixture(scope="session")
def clf_text():
    """A function from process nodes, and what stands in the root's tag, to the text of a CLF file."""
    return _clf_text


@pytest.fixture(scope="session")
def clf():
    """A function from process nodes, and what stands in the root's tag, to the LUT that is read."""
    return lambda nodes, root=ROOT: read_clf(_clf_text(nodes, root).encode(), "a.clf").lut()


@pytest.fixture(scope="session")
def through():
    """A function from a LUT and rows of three numbers to the rows that it makes, in float64."""
    return lambda lut, rows: lut(np.array(rows, np.float64).reshape(-1, 3).T).T
