"""The manifests of a bag read with distrust: strictly, and without looking at any file that they name.

The library that writes them is no judge of a stranger's bag: it follows links, takes any encoding that
Python knows, and lets a name lead into a neighbour folder whose name begins alike.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from typing import Final

from lamphouse.graph.check.findings import Finding
from lamphouse.nodes.one_line import sentence
from lamphouse.nodes.regular_file import read_regular

SUMS: Final = {"sha256": 64, "sha512": 128}  # and how many digits each has
DECLARED: Final = re.compile(r"BagIt-Version: [0-9]+\.[0-9]+\nTag-File-Character-Encoding: UTF-8\n")
BAGIT: Final = "bagit.txt"

_LINE: Final = re.compile(r"([0-9a-f]+) {1,2}(\S.*)")
_ENCODED: Final = re.compile(r"%(0D|0A|25)", re.IGNORECASE)  # RFC 8493, 2.1.3


@dataclass(slots=True)
class Listed:
    """What the manifests of a bag say: the digests of each file by manifest, and what is wrong with them."""

    digests: dict[str, dict[str, str]] = field(default_factory=dict)
    faults: list[Finding] = field(default_factory=list)


def manifest_names() -> list[str]:
    """Return the names of the manifests of a bag of ours."""
    return [f"{kind}-{name}.txt" for kind in ("manifest", "tagmanifest") for name in SUMS]


def read_manifests(folder: Path, there: Collection[str]) -> Listed:
    """Return what the manifests in `folder` say; only files among those that are `there` are read."""
    listed = Listed()
    if BAGIT in there and not DECLARED.fullmatch(_text(folder / BAGIT, listed)):
        listed.faults.append(Finding("bag", f"{BAGIT} does not say that this is a bag in UTF-8 (RFC 8493)."))
    for name in manifest_names():
        if name not in there:
            listed.faults.append(Finding("file missing", f"{name} is missing."))
            continue
        lines = _text(folder / name, listed).split("\n")
        for number, line in enumerate(lines[:-1] if not lines[-1] else lines, 1):
            _take(listed, name, f"{name}, line {number}:", line)
    return listed


def _text(path: Path, listed: Listed) -> str:
    try:
        return read_regular(path).decode("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "it is not UTF-8"
        listed.faults.append(Finding("bag", sentence(f"{path.name} cannot be read ({reason}).")))
        return ""


def _take(listed: Listed, manifest: str, where: str, line: str) -> None:
    found = _LINE.fullmatch(line)
    length = SUMS[manifest.partition("-")[2].removesuffix(".txt")]
    name = _decoded(found[2]) if found else ""
    if found is None or len(found[1]) != length:
        wrong = "it is not a digest and a name"
    elif not _is_within(name, manifest):
        wrong = f"{name} is no place in the bag"
    elif manifest in listed.digests.get(name, {}):
        wrong = f"{name} is named twice"
    else:
        listed.digests.setdefault(name, {})[manifest] = found[1]
        return
    listed.faults.append(Finding("manifest", sentence(f"{where} {wrong}.")))


def _decoded(name: str) -> str:
    return _ENCODED.sub(lambda code: chr(int(code[1], 16)), name)


def _is_within(name: str, manifest: str) -> bool:
    """Say whether a manifest may name this: files of the payload in one, the bag's own in the other."""
    place = PurePosixPath(name)
    is_plain = not place.is_absolute() and ".." not in place.parts and "\\" not in name and str(place) == name
    return is_plain and (place.parts[0] == "data") == manifest.startswith("manifest")
