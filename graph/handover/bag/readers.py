"""Each file of a bag read as whoever gets it will read it, as far as we have a reader for it."""

from __future__ import annotations

from collections.abc import Callable
from fnmatch import fnmatch
from pathlib import Path
from typing import Any, Final

from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.regular_file import read_regular


def read_payload(folder: Path, name: str) -> bool:
    """Read the file `name` below `folder`, and say whether there is a reader. Raises BadInput, OSError."""
    for pattern, read in READERS.items():
        if fnmatch(name, pattern):
            read(folder / name)
            return True
    return False


def _reel(path: Path) -> None:
    from lamphouse.graph.reel.store import load

    load(path)


def _record(path: Path) -> None:
    from lamphouse.graph.handover.bag.framemd5 import framemd5
    from lamphouse.graph.media.master.record import load_record_file

    record = load_record_file(path)
    sums = path.with_name(path.name.replace(".record.json", ".framemd5"))
    if record.pictures and framemd5(record, list(record.pictures)).encode() != read_regular(sums):
        raise BadInput(f"{sums.name} is not of the pictures of {path.name}; ask for the bag again.")
    _master(path.with_name(path.name.removesuffix(".record.json")), record)


def _master(path: Path, record: Any) -> None:
    """Hold a master that is in the bag against its record."""
    from lamphouse.graph.check.verify import check_files
    from lamphouse.nodes.errors import clause

    if path.exists() and (found := check_files(path, record)).count:
        raise BadInput(f"{path.name} is not that of its record: {clause(found.faults[0].sentence)}.")


def _lut(path: Path) -> None:
    from lamphouse.nodes.luts.load import load_lut

    load_lut(str(path))


def _list(path: Path) -> None:
    """Read a list of shots as a reel takes it: the reel of the bag."""
    from lamphouse.graph.handover.lists.arrive import read_list
    from lamphouse.graph.reel.store import load

    for reel in path.parents[1].glob("reel/*.reel"):
        read_list(path, load(reel))


def _still(path: Path) -> None:
    from lamphouse.graph.media.scan.open import open_scan

    with open_scan(path) as scan:
        scan.read(0)


def _json(path: Path) -> None:
    from lamphouse.graph.files.json_document import read_document

    read_document(read_regular(path), str(path), "a document")


def _xml(path: Path) -> None:
    from lamphouse.nodes.luts.xml_tree import read_xml

    read_xml(read_regular(path), str(path))


def _text(path: Path) -> None:
    try:
        read_regular(path).decode("utf-8")
    except UnicodeDecodeError as error:
        raise BadInput(f"{path} is not text in UTF-8; ask for it again.") from error


# In this order: the first pattern that fits reads the file.
READERS: Final[dict[str, Callable[[Path], None]]] = {
    "data/reel/*.reel": _reel,
    "data/master/*.record.json": _record,
    "data/master/*.framemd5": _text,
    "data/*.json": _json,
    "data/cues/*.clf": _lut,
    "data/cues/*.cube": _lut,
    "data/cues/*.ccc": _list,
    "data/lists/*.otio": _list,
    "data/lists/*.edl": _list,
    "data/*.png": _still,
    "data/*.exr": _still,
    "data/*.jpg": _still,
    "data/*.xml": _xml,
    "data/*.html": _text,
    "data/*.txt": _text,
}
