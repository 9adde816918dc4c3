"""The clean film: what a perfect print of the invented story shows, before wear and faults.

It was painted once, by code of our own, and is kept among the presets as a small movie, its licence
beside it.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from importlib.resources import as_file, files
from typing import TYPE_CHECKING, Final

from lamphouse.graph.demo.canvas import Picture, Raster
from lamphouse.graph.demo.story import Roll
from lamphouse.graph.media.codes.decode_planes import Coded, to_rgb
from lamphouse.graph.media.codes.resample import resize
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.graph.media.scan.scan import Scan

if TYPE_CHECKING:
    from lamphouse.graph.media.scan.scan import Source

MOVIE: Final = files("lamphouse.presets") / "film" / "lantern-errand.mkv"
FILTER: Final = "cubic"


@contextmanager
def clean_film() -> Iterator[Scan]:
    """Open the clean film: `Shot.picture` says which of its frames a frame of the roll shows."""
    with as_file(MOVIE) as path, open_scan(path) as movie:
        yield movie


def clean_frames(roll: Roll) -> Iterator[Source]:
    """Yield what each frame of the roll shows, in the movie's own raster and codes."""
    with clean_film() as movie:
        for shot in roll.shots:
            for number in range(shot.first, shot.stop):
                yield movie.read_coded(shot.picture(number))


def at_raster(clean: Source, raster: Raster) -> Picture:
    """Return a frame of the clean film in `video`, shape (3, height, width), at another raster."""
    picture = to_rgb(clean) if isinstance(clean, Coded) else clean
    return resize(picture, raster.width, raster.height, FILTER)
