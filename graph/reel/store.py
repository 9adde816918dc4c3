"""The reel on disk: read whole, checked, upgraded; written so that a kill at any moment loses nothing.

Whoever changes a reel reads it, changes it and saves it under one lock, so that of several at once none
is lost. The version before a saving stays as `NAME.reel.previous`.
"""

import os
import re
from collections.abc import Callable, Mapping
from itertools import count
from pathlib import Path

import msgspec

from lamphouse.graph.files.json_document import read_document, write_document
from lamphouse.graph.files.locks import locked
from lamphouse.graph.files.record import gather, spread
from lamphouse.graph.files.whole_file import sweep, whole_file
from lamphouse.graph.reel.records import Reel
from lamphouse.graph.reel.upgrade import Document, to_reel_2
from lamphouse.nodes.errors import BadInput, clause, stem
from lamphouse.nodes.regular_file import read_regular

Upgrades = Mapping[str, Callable[[Document], Document]]

LABEL = "reel/2"
# Old label -> the step from it to the next: a function of the document that also sets the new label.
UPGRADES: Upgrades = {"reel/1": to_reel_2}

_LABELS = re.compile(r"reel/[1-9][0-9]{0,5}")


def load(path: Path) -> Reel:
    """Return the reel in the file `path`. Raises BadInput with the file and the place in it."""
    try:
        return decode(read_regular(path), str(path))
    except FileNotFoundError as error:
        raise BadInput(f"{path} does not exist{_way_back(path)}.") from error
    except OSError as error:
        raise BadInput(
            f"{path} cannot be read ({error.strerror}); see to the file, or give another."
        ) from error
    except BadInput as error:
        raise BadInput(f"{stem(error)}{_way_back(path)}.") from error


class Changed(BadInput):
    """The file holds another reel than the one that a change began with."""


def save(path: Path, reel: Reel) -> None:
    """Write `reel` to the file `path`, keeping the version before it as `NAME.reel.previous`.

    At every moment `path` is a whole reel, the old one or the new. Raises BadInput when
    the disk is full, read-only or absent; then the old file is as it was.
    """
    data = encode(reel)
    with locked(path):
        _write(path, data)


def change(path: Path, edit: Callable[[Reel], Reel]) -> Reel:
    """Save what `edit` makes of the reel in the file `path`, and return it.

    Nobody else changes the file in between. Raises BadInput as `load`, `edit` and `save` do, and where
    another process holds the reel for too long; then the file is as it was.
    """
    if not path.exists():
        return load(path)  # which says so
    with locked(path):
        changed = edit(load(path))
        _write(path, encode(changed))
    return changed


def save_unless_changed(path: Path, reel: Reel, before: Reel) -> None:
    """Save `reel`, which was made from `before`. Raises Changed where the file holds something else by now.

    A file that is gone is written anew. Otherwise raises BadInput as `save` does.
    """
    data = encode(reel)
    with locked(path):
        if path.exists() and not _holds(path, before):
            raise Changed(
                f"{path.name} was changed by another program since it was opened here; choose what to keep."
            )
        _write(path, data)


def save_keeping_other(path: Path, reel: Reel) -> Path:
    """Save `reel`, keep what the file held as a reel of its own beside it, and return where.

    Raises BadInput as `save` does.
    """
    data = encode(reel)
    with locked(path):
        names = (path.with_name(f"{path.stem}.{n}{path.suffix}") for n in count(1))
        other = next(name for name in names if not os.path.lexists(name))
        try:
            with whole_file(other) as file:
                file.write(read_regular(path))
        except BadInput as error:
            raise BadInput(f"{path} is not saved, for {clause(error)}.") from error
        _write(path, data)
    return other


def _holds(path: Path, reel: Reel) -> bool:
    try:
        return load(path) == reel
    except BadInput:
        return False


def _write(path: Path, data: bytes) -> None:
    path = Path(os.path.realpath(path))  # through a link, to the file that it names
    sweep(path)
    with whole_file(path, previous=previous_of(path)) as file:
        file.write(data)


def encode(reel: Reel) -> bytes:
    """Return the text of `reel` as the file has it: UTF-8 JSON, indented by two, ending in a newline.

    Raises BadInput, with its path, for a number that is not finite.
    """
    return write_document(spread(reel), "The reel")


def decode(data: bytes, where: str, upgrades: Upgrades = UPGRADES) -> Reel:
    """Return the reel in `data`. `where` names its source in the BadInput that anything wrong raises."""
    return reel_of(read_document(data, where, "a reel"), where, upgrades)


def reel_of(document: object, where: str, upgrades: Upgrades = UPGRADES) -> Reel:
    """Return the reel, of whatever version, that a mapping read from JSON holds. Raises as `decode`."""
    document = _upgraded(_labelled(document, where), upgrades)
    label = document["record"]
    if label != LABEL:
        raise BadInput(
            f"{where}: {label} is not known here, only {LABEL}; a later version wrote it: use that one."
        )
    try:
        return _ordered(gather(document, Reel))
    except BadInput as error:
        raise BadInput(f"{where}: {clause(error)}.") from error


def previous_of(path: Path) -> Path:
    """Return where the version before the present one of the reel `path` lies."""
    return Path(f"{path}.previous")


def media_path(reel_file: Path, stored: str) -> Path:
    """Return the absolute path of the media that `reel_file` stores as `stored`.

    Where they are no longer there, they are looked for from the reel's folder: by their name, then by ever
    more of the end of their path.
    """
    place = _placed(reel_file.parent / stored)
    if place.exists():
        return place
    parts = [part for part in Path(stored).parts if part not in ("..", Path(stored).anchor)]
    tails = (_placed(reel_file.parent / Path(*parts[n:])) for n in reversed(range(len(parts))))
    return next((tail for tail in tails if tail.exists()), place)


def stored_path(reel_file: Path, media: Path) -> str:
    """Return how `reel_file` stores the path of `media`, with '/' between its parts.

    Relative to the reel's folder where the media lie below it or below the folder that
    holds it, so that both move together; absolute elsewhere.
    """
    folder = reel_file.parent.resolve()
    place = _placed(media)
    if place.is_relative_to(folder):
        return place.relative_to(folder).as_posix()
    around = folder.parent
    if around != around.parent and place.is_relative_to(around):
        return f"../{place.relative_to(around).as_posix()}"
    return place.as_posix()


def _placed(path: Path) -> Path:
    """Return `path` absolute, its folder without links. Its last part may be a link, and stays one."""
    path = path.absolute()
    return path.resolve() if path.name == ".." else path.parent.resolve() / path.name


def _labelled(document: object, where: str) -> Document:
    """Return `document`, which bears the label of a reel of some version."""
    label = document.get("record") if isinstance(document, dict) else None
    if not isinstance(document, dict) or not isinstance(label, str) or not _LABELS.fullmatch(label):
        raise BadInput(f'{where} is not a reel, for it lacks the label "record": "{LABEL}".')
    return document


def _upgraded(document: Document, upgrades: Upgrades) -> Document:
    while (step := upgrades.get(document["record"])) is not None:
        document = step(document)
    return document


def _ordered(reel: Reel) -> Reel:
    """Return `reel` with its cues, marks and tracks by frame, in whatever order the file has them."""
    cues = tuple(sorted(reel.cues, key=lambda cue: cue.frame))
    marks = tuple(sorted(reel.marks, key=lambda mark: mark.frame))
    tracks = tuple(sorted(reel.tracks, key=lambda track: track.frame))
    return msgspec.structs.replace(reel, cues=cues, marks=marks, tracks=tracks)


def _way_back(path: Path) -> str:
    previous = previous_of(path)
    return f"; the version before it is in {previous.name}" if previous.exists() else ""
