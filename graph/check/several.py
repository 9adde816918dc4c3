"""The masters that are meant by what was typed: files, folders of stills, and folders of either."""

from __future__ import annotations

import os
from collections.abc import Collection, Iterable, Iterator
from pathlib import Path
from typing import Final

from lamphouse.graph.check.findings import Finding, Findings
from lamphouse.graph.media.master.containers import CONTAINERS
from lamphouse.graph.media.master.stills_back import STILL
from lamphouse.nodes.errors import BadInput

# Of masters made elsewhere too.
MOVIES: Final = {kind.suffix for kind in CONTAINERS.values() if kind.suffix} | {".avi", ".mpg", ".m2v", ".ts"}


def masters_in(typed: Iterable[Path]) -> list[Path]:
    """Return the masters that are meant, each once, those of a folder by their names.

    Raises BadInput for a folder that holds none.
    """
    return list(dict.fromkeys(master for path in typed for master in _in(path)))


def _in(path: Path) -> Iterator[Path]:
    if not path.is_dir() or _is_stills(path):
        yield path
        return
    found = [one for one in sorted(path.iterdir()) if _is_master(one)]
    if not found:
        raise BadInput(f"{path} holds no masters; give the file or folder of a finished one.")
    yield from found


def _is_master(path: Path) -> bool:
    if path.name.startswith("."):
        return False
    return _is_stills(path) if path.is_dir() else path.suffix.lower() in MOVIES and path.is_file()


def _is_stills(folder: Path) -> bool:
    return any(STILL.fullmatch(file.name) for file in folder.iterdir())


def told_apart(masters: Iterable[Path]) -> dict[Path, Path]:
    """Return what each master is called beside the others: its name, with the folders that tell it apart."""
    parts = {master: _parts(master) for master in masters}
    return {master: _shortest(own, set(parts.values()) - {own}) for master, own in parts.items()}


def _parts(master: Path) -> tuple[str, ...]:
    return Path(os.path.abspath(master)).parts[1:]  # noqa: PTH100 - a link is called as it is


def _shortest(own: tuple[str, ...], others: Collection[tuple[str, ...]]) -> Path:
    """Return the shortest end of a path that none of the others has, or all of it."""
    ends = (own[-count:] for count in range(1, len(own)))
    return Path(*next((end for end in ends if all(other[-len(end) :] != end for other in others)), own))


def unreadable(reason: str) -> Findings:
    """Return what is found of a master that cannot be read, for the reason that is told in a sentence."""
    found = Findings()
    found.add([Finding("unreadable", reason)])
    return found


def summary(name: str, found: Findings) -> str:
    """Return how a master came off, as one line."""
    cautions = sum(one.weight == "caution" for one in found.others) + found.more_others
    counts = [(found.count, "fault"), (cautions, "caution")]
    words = [f"{count} {what}{'' if count == 1 else 's'}" for count, what in counts if count]
    return f"{name}: {' and '.join(words) or 'nothing found'}."
