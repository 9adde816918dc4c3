"""What a movie says of itself beside its pictures: its timecode, its reel, what made it.

Each container has places of its own for these. No clock is among them, so that equal passes stay equal bytes.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from lamphouse import __version__

MAKER: Final = f"Lamphouse {__version__}"
# By FFmpeg's names of tags: those of the whole file, and those of the pictures. In MXF they are the names of
# packages and a comment; in MOV the name of the reel lies beside the timecode, and MP4 has no place for it.
_PLACES: Final[Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]]] = {
    "matroska": (("title", "encoded_by"), ("timecode",)),
    "mov": (("title", "comment"), ("timecode", "reel_name")),
    "mp4": (("title", "comment"), ("timecode",)),
    "mxf": (("material_package_name", "reel_name", "comment_made_by"), ("timecode",)),
}


def label(container: Any, pictures: Any, kind: str, *, timecode: str, reel: str) -> None:
    """Have an open output container of a `kind` state the timecode of its first frame, its reel, its maker.

    Without a `reel` the timecode alone.
    """
    said = {"timecode": timecode}
    if reel:
        said |= dict.fromkeys(("title", "reel_name", "material_package_name"), reel)
        said |= {"encoded_by": MAKER, "comment_made_by": MAKER, "comment": f"Made by {MAKER}."}
    _state(said, container, pictures, kind)


def label_like(old: Any, container: Any, pictures: Any, kind: str) -> None:
    """Have an open output container of a `kind` state what the movie `old` of that kind does."""
    places = [*old.streams, old]  # Matroska writes names in capitals
    said = {name.lower(): value for place in places for name, value in place.metadata.items()}
    _state(said, container, pictures, kind)


def _state(said: Mapping[str, str], container: Any, pictures: Any, kind: str) -> None:
    for place, names in zip((container, pictures), _PLACES[kind], strict=True):
        place.metadata.update({name: said[name] for name in names if name in said})
