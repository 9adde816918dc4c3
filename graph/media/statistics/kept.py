"""The statistics of a scan as they are kept: a small file a segment, named by what it was made of."""

from __future__ import annotations

import hashlib
import warnings
import zlib
from pathlib import Path
from typing import Any, Final

import numpy as np

from lamphouse.graph.files.folders import CACHE_VARIABLE, cache_folder
from lamphouse.graph.files.kept import Kept
from lamphouse.graph.media.scan.fixity import identity_of
from lamphouse.graph.media.statistics.measuring import PLANES, SEGMENT, STILL, Segment, frames_of
from lamphouse.graph.media.statistics.row import ROW, VERSION
from lamphouse.graph.media.statistics.statistics import Statistics, joined
from lamphouse.graph.media.statistics.view import GRID
from lamphouse.graph.reel.records import ScanRef
from lamphouse.nodes.errors import BadInput, Note

FOLDER: Final = "statistics"  # in that of what can be made again
MOST: Final = 4_000_000_000  # bytes: some twelve hours of film
_QUICK: Final = 1  # of zlib's levels


class KeptStatistics:
    """What is kept of one scan, whole or in part. Another version, or a changed scan, has another name."""

    def __init__(self, scan: ScanRef, path: Path) -> None:
        facts = (VERSION, ROW.descr, SEGMENT, STILL, scan.frames, scan.width, scan.height)
        self._path, self._identity = path, identity_of(path)
        named = f"{facts} {scan.matrix} {scan.range} {self._identity}"
        self.name = hashlib.sha256(named.encode()).hexdigest()
        self.frames = scan.frames
        self.folder = cache_folder() / FOLDER
        self._is_refused = False
        self._files = Kept(self.folder, ".rows", "Statistics of scans", MOST)

    @property
    def segments(self) -> range:
        """The numbers of its segments."""
        return range(-(-self.frames // SEGMENT))

    def missing(self) -> list[int]:
        """Return the segments that are not there."""
        return [segment for segment in self.segments if not self._files.has(self._file(segment))]

    def measured(self) -> int:
        """Return how many frames lie in segments that are there."""
        return self.frames - sum(len(frames_of(segment, self.frames)) for segment in self.missing())

    def check(self, made: Segment) -> None:
        """Raise BadInput where frames could not be read because the scan is not there as it was."""
        if not made.rows["ok"].all() and identity_of(self._path) != self._identity:
            raise BadInput(
                f"{self._path} was changed while it was measured; see that it is whole and try again."
            )

    def keep(self, segment: int, made: Segment) -> None:
        """Keep a segment, whole or not at all; where the disk refuses the first, a note says so."""
        packed = zlib.compress(made.rows.tobytes() + made.stills.tobytes(), _QUICK)
        refused = self._files.keep(self._file(segment), packed)
        if refused and not self._is_refused:
            warnings.warn(
                f"What is measured cannot be kept in {self.folder} ({refused}) and is measured again next "
                f"time; make room there, or set {CACHE_VARIABLE} to another place.",
                Note,
                stacklevel=2,
            )
        self._is_refused |= bool(refused)

    def read(self, segment: int) -> Segment | None:
        """Return a segment, or None where it is not there or damaged."""
        packed = self._files.read(self._file(segment))
        if packed is None:
            return None
        data, count = zlib.decompress(packed), len(frames_of(segment, self.frames))
        rows: Any = np.frombuffer(data, ROW, count)
        stills = np.frombuffer(data, np.uint16, offset=rows.nbytes).reshape(-1, PLANES, *GRID)
        return Segment(rows, stills)

    def statistics(self) -> Statistics | None:
        """Return the statistics of the whole scan, or None where some are missing."""
        if self.missing():  # which costs little beside reading those that are there
            return None
        found = [self.read(segment) for segment in self.segments]
        whole = [segment for segment in found if segment is not None]
        return joined(whole) if len(whole) == len(found) else None

    def _file(self, segment: int) -> str:
        return f"{self.name}-{segment:06}"
