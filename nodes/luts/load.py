"""A LUT from a file of any format that is read here, kept while the file stays the same."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Final

from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.luts.lut import Lut
from lamphouse.nodes.regular_file import MIB, check_regular, read_regular

LARGEST_FILE: Final = 1000 * MIB  # the largest table of either format takes half of it
ENDINGS: Final = (".cube", ".clf")


def load_lut(path: str) -> Lut:
    """Return the LUT in the file `path`, a .cube or .clf, in one sentence BadInput where that cannot be."""
    ending = Path(path).suffix.lower()
    if ending not in ENDINGS:
        raise BadInput(f"{path} is not read as a LUT; give a file that ends in {' or '.join(ENDINGS)}.")
    try:
        facts = check_regular(Path(path), LARGEST_FILE)
        return _read(path, ending, facts.st_mtime_ns, facts.st_size)
    except OSError as error:
        raise BadInput(f"{path} cannot be read ({error.strerror}); give the LUT's own path.") from error


@lru_cache(maxsize=4)  # a table may take half a gigabyte, and programs hold those that they use
def _read(path: str, ending: str, changed: int, size: int) -> Lut:
    data = read_regular(Path(path), LARGEST_FILE)
    if not data.strip():
        raise BadInput(f"{path} is empty; fetch the file again.")
    if ending == ".clf":
        from lamphouse.nodes.luts.clf.file import read_clf

        return read_clf(data, path).lut()
    from lamphouse.nodes.luts.cube_file import read_cube

    if b"\0" in data:
        raise BadInput(f"{path} is not text, as a .cube file is; fetch the file again.")
    # Titles come in every encoding; all that is computed with is ASCII.
    return read_cube(data.decode("utf-8-sig", errors="replace"), path)
