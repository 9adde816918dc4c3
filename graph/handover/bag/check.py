"""A bag checked with nothing but the bag: every byte, what is missing or extra, and that it can be read."""

from __future__ import annotations

import hashlib
import os
import stat
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from lamphouse.graph.check.findings import Finding, Findings
from lamphouse.graph.handover.bag.manifests import (
    BAGIT,
    SUMS,
    Listed,
    manifest_names,
    read_manifests,
)
from lamphouse.graph.handover.bag.readers import read_payload
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.one_line import sentence

if TYPE_CHECKING:
    from lamphouse.graph.progress import Step

BLOCK: Final = 1 << 20
MOST: Final = 1_000_000  # files; a day of stills is more, and no bag of ours


def check_bag(folder: Path, step: Step) -> Findings:
    """Return what is wrong with the bag `folder`, and what was found good.

    Nothing outside it is read, and no link in it followed. `step` is told the files that are done. Raises
    BadInput where there is no bag.
    """
    found, good = check_bytes(folder, step)
    if not any(fault.kind == "link" for fault in found.faults):  # which a reader would follow
        _read(folder, good, found)
    return found


def check_bytes(folder: Path, step: Step) -> tuple[Findings, list[str]]:
    """Return what is wrong with the files of a bag, and the names of those that are right; none is read."""
    if not (folder / BAGIT).is_file():
        raise BadInput(f"{folder} is not a bag, for there is no {BAGIT} in it; give the folder of one.")
    found = Findings()
    there = _there(folder, found)
    listed = read_manifests(folder, there)
    found.add(listed.faults)
    found.add(_missing_and_extra(there, listed))
    good = []
    for number, name in enumerate(there, 1):
        wrong = list(_changed(folder, name, listed.digests.get(name, {})))
        found.add(wrong)
        good += [] if wrong or name not in listed.digests else [name]
        step(number, len(there))
    if not found.count:
        found.said.append(f"Every byte of {len(there)} files is as it was handed over (SHA-256, SHA-512).")
    return found, good


def _there(folder: Path, found: Findings) -> list[str]:
    """Return the names of the regular files in the bag; links and devices are faults."""
    names: list[str] = []
    for place, folders, files in os.walk(folder):
        for name in sorted((*folders, *files)):
            path = Path(place, name)
            within, kind = path.relative_to(folder).as_posix(), path.lstat().st_mode
            if stat.S_ISREG(kind):
                names.append(within)
            elif not stat.S_ISDIR(kind):
                found.add([Finding("link", sentence(f"{within} is a link or a device and no file."))])
        if len(names) > MOST:
            raise BadInput(f"{folder} holds more than {MOST} files; that is no bag of ours.")
    return sorted(names)


def _missing_and_extra(there: list[str], listed: Listed) -> Iterator[Finding]:
    names = set(there)
    for name, digests in listed.digests.items():
        kind = "manifest" if name.startswith("data/") else "tagmanifest"
        lacking = [other for other in manifest_names() if other.startswith(kind) and other not in digests]
        if name not in names:
            yield Finding("file missing", sentence(f"{name} is missing, which {next(iter(digests))} names."))
        elif lacking:
            yield Finding("manifest", sentence(f"{name} is not named in {' and '.join(lacking)}."))
    for name in there:
        if name not in listed.digests and not name.startswith("tagmanifest-"):
            yield Finding("file extra", sentence(f"{name} is in the bag and in none of its manifests."))


def _changed(folder: Path, name: str, digests: dict[str, str]) -> Iterator[Finding]:
    """Yield where a file has other digests than its manifests say, or cannot be read."""
    try:
        found = _sums(folder / name) if digests else {}
    except OSError as error:
        yield Finding("unreadable", sentence(f"{name} cannot be read ({error.strerror})."))
        return
    differ = [manifest for manifest, digest in digests.items() if digest not in found.values()]
    if differ and len(differ) == len(digests):
        yield Finding("file differs", sentence(f"{name} is not, byte for byte, the file of the manifests."))
    elif differ:
        what = f"{name} has another digest in {' and '.join(differ)}, but is what the other manifest says"
        yield Finding("manifest", sentence(f"{what}."))


def _sums(path: Path) -> dict[str, str]:
    hashes: dict[str, Any] = {name: hashlib.new(name) for name in SUMS}
    with path.open("rb") as file:
        while block := file.read(BLOCK):
            for each in hashes.values():
                each.update(block)
    return {name: each.hexdigest() for name, each in hashes.items()}


def _read(folder: Path, names: list[str], found: Findings) -> None:
    """Read those files whose bytes are right with our own readers."""
    count = 0
    for name in names:
        try:
            count += read_payload(folder, name)
        except (BadInput, OSError) as error:
            found.add([Finding("unreadable", sentence(str(error)))])
    if not found.count:
        found.said.append(f"{count} of them are of kinds that are read here, and each can be read.")
