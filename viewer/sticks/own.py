"""A person's own mappings of sticks: files in the folder of their settings, kept from run to run.

A file that cannot be read is told and left as it is; it never stands in the way of a preset.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final, NamedTuple

from lamphouse.graph.files.own_file import make_own_folder
from lamphouse.graph.files.whole_file import whole_file
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.regular_file import read_regular
from lamphouse.viewer.sticks.mapping import FOLDER, StickMap, decode_stick_map, encode_stick_map

# What every file system takes as a name, and no path in disguise.
_NAME: Final = re.compile(r"\w(?:[\w .,+-]{0,58}[\w+-])?")


class OwnMaps(NamedTuple):
    """The mappings by the names of their files, and a sentence on each file that is none."""

    maps: dict[str, StickMap]
    troubles: tuple[str, ...]


def own_file(settings: Path, name: str) -> Path:
    """Return the file of the mapping `name`. Raises BadInput for what can be no name."""
    if not _NAME.fullmatch(name):
        raise BadInput(
            f"{name or 'Nothing'} is not a name for a mapping; give letters, digits, spaces or dashes."
        )
    return settings / FOLDER / f"{name}.json"


def own_maps(settings: Path) -> OwnMaps:
    """Return every mapping in the folder of settings. Never raises; nothing is written."""
    maps: dict[str, StickMap] = {}
    troubles = []
    for path in sorted((settings / FOLDER).glob("*.json")):
        try:
            maps[path.stem] = decode_stick_map(_read(path), str(path))
        except BadInput as error:
            reason = str(error).rstrip(".")
            troubles.append(f"{reason}; the file is left as it is, and the joysticks work without it.")
    return OwnMaps(maps, tuple(troubles))


def keep_own(settings: Path, name: str, mapping: StickMap) -> None:
    """Write a mapping under its name, whole or not at all. Raises BadInput where that fails."""
    path = own_file(settings, name)
    make_own_folder(path.parent)
    with whole_file(path) as file:
        file.write(encode_stick_map(mapping))


def _read(path: Path) -> bytes:
    try:
        return read_regular(path)
    except OSError as error:
        raise BadInput(f"{path} cannot be read ({error.strerror or error}).") from error
