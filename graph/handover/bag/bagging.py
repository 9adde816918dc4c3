"""A folder made a bag: RFC 8493, by the library bagit."""

from __future__ import annotations

import logging
import warnings
from collections.abc import Iterable
from contextlib import chdir
from pathlib import Path
from typing import Any, Final

from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.one_line import one_line

SUMS: Final = ("sha256", "sha512")
# RFC 8493, 2.1.1. The library still writes 0.97, the last draft before it, and reads both.
DECLARED: Final = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"


def make_bag(folder: Path, info: dict[str, str | list[str]]) -> dict[str, dict[str, str]]:
    """Make all in `folder` the payload of a bag, and return the digests of each file by its name in the bag.

    Raises BadInput for a name that a bag cannot hold, and OSError.
    """
    import bagit

    _quiet(bagit)
    refuse_names(path.name for path in folder.rglob("*"))
    with chdir(folder), warnings.catch_warnings():  # it changes there too, and stays there where it fails
        warnings.simplefilter("ignore", DeprecationWarning)  # of Python 3.13: re.sub's count by its place
        bagit.make_bag(str(folder), info, checksums=list(SUMS))
        Path("bagit.txt").write_text(DECLARED, encoding="utf-8", newline="\n")
        bag: Any = bagit.Bag(str(folder))
        bag.save()  # whose list of such files has the digest of that one
    return dict(bag.payload_entries())


def refuse_names(names: Iterable[str]) -> None:
    """Raise BadInput for what RFC 8493 percent-encodes and the library does not, or what that would strip."""
    for name in names:
        if "%" in name or one_line(name) != name or name != name.strip(" *~"):
            raise BadInput(f"{name} is not a name that every reader of a bag finds again; rename the file.")


def _quiet(bagit: Any) -> None:
    """Keep the library from telling a terminal what is told here in sentences."""
    if not bagit.LOGGER.handlers:
        bagit.LOGGER.addHandler(logging.NullHandler())
