"""Which files of a folder are the stills of one sequence, and which numbers are missing.

Frame n is number first + n, so that a gap keeps its place and no later frame moves.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from lamphouse.graph.media.scan.scan import STILLS
from lamphouse.graph.reel.limits import FRAMES
from lamphouse.nodes.errors import BadInput

NUMBERED = re.compile(r"(?P<prefix>.*?)(?P<number>\d+)(?P<suffix>\.\w+)")
LISTED = 6  # how many sequences or gaps a sentence names before it counts the rest

Key = tuple[str, str]


@dataclass(frozen=True, slots=True)
class StillSequence:
    """Numbered stills of one name. `files` maps frame numbers, from 0, to those present."""

    folder: Path
    first: int
    frames: int
    files: dict[int, Path]

    def file_of(self, frame: int) -> Path:
        """Return the path of a frame, also of one that is missing."""
        found = self.files.get(frame)
        return found or self.folder / _renumbered(self.files[0].name, self.first + frame)

    def gaps(self) -> list[range]:
        """Return the runs of frames that are missing."""
        present = sorted(self.files)
        pairs = pairwise(present)
        return [range(before + 1, after) for before, after in pairs if after > before + 1]


def find_sequence(path: Path) -> StillSequence:
    """Return the sequence in a folder, or the one that a still belongs to.

    Raises BadInput where a folder holds none or several, or one number twice.
    """
    if path.is_dir():
        return _sequence(path, _only_sequence(path, sequences_in(path)))
    if NUMBERED.fullmatch(path.name):
        return _sequence(path.parent, sequences_in(path.parent).get(_key(path.name), [path]))
    return StillSequence(path.parent, 0, 1, {0: path})


def would_join(scan: Path, file: Path) -> bool:
    """Say whether a new `file` would be a still of `scan`, or begin a second sequence in its folder."""
    if file.exists() or file.suffix.lower() not in STILLS or not NUMBERED.fullmatch(file.name):
        return False
    folder = scan if scan.is_dir() else scan.parent
    if not (folder.exists() and file.parent.exists() and folder.samefile(file.parent)):
        return False
    return scan.is_dir() or (bool(NUMBERED.fullmatch(scan.name)) and _key(scan.name) == _key(file.name))


def _key(name: str) -> Key:
    match = NUMBERED.fullmatch(name)
    assert match
    return match["prefix"], match["suffix"].lower()


def sequences_in(folder: Path) -> dict[Key, list[Path]]:
    """Return the numbered stills of a folder by what comes before and after their numbers, in their order."""
    found: dict[Key, list[Path]] = {}
    for path in sorted(folder.iterdir()):
        name = path.name
        if path.suffix.lower() in STILLS and not name.startswith(".") and NUMBERED.fullmatch(name):
            found.setdefault(_key(name), []).append(path)
    return found


def _only_sequence(folder: Path, found: dict[Key, list[Path]]) -> list[Path]:
    if not found:
        raise BadInput(
            f"{folder} holds no numbered stills ({', '.join(sorted(STILLS))}); "
            "give the folder that does, or a movie file."
        )
    if len(found) > 1:
        ends = [f"{files[0].name} to {files[-1].name}" for files in found.values()]
        raise BadInput(
            f"{folder} holds several sequences: {listed(ends)}; give one still of the one that is meant."
        )
    return next(iter(found.values()))


def _sequence(folder: Path, members: list[Path]) -> StillSequence:
    numbers: dict[int, Path] = {}
    for path in members:
        number = _number(path.name)
        if number in numbers:
            raise BadInput(f"{path} and {numbers[number].name} have the same number; take one of them away.")
        numbers[number] = path
    first, last = min(numbers), max(numbers)
    if last - first >= FRAMES:
        raise BadInput(
            f"{numbers[first]} and {numbers[last].name} are more than {FRAMES} numbers apart, a day of film; "
            "take away the one that does not belong."
        )
    files = {number - first: numbers[number] for number in sorted(numbers)}
    return StillSequence(folder, first, last - first + 1, files)


def _number(name: str) -> int:
    match = NUMBERED.fullmatch(name)
    assert match
    return int(match["number"])


def _renumbered(name: str, number: int) -> str:
    match = NUMBERED.fullmatch(name)
    assert match
    return f"{match['prefix']}{number:0{len(match['number'])}d}{match['suffix']}"


def spans(runs: Iterable[range]) -> str:
    """Return runs of frames as words: `4, 8 to 10`."""
    return listed([str(run[0]) if len(run) == 1 else f"{run[0]} to {run[-1]}" for run in runs])


def listed(items: list[str]) -> str:
    """Return items as a list of at most six and a count of the rest."""
    more = f" and {len(items) - LISTED} more" if len(items) > LISTED else ""
    return ", ".join(items[:LISTED]) + more
