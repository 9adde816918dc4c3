"""One pass over a scan: what is missing of its statistics is measured and kept, segment by segment."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack, closing, contextmanager, suppress
from itertools import groupby
from typing import TYPE_CHECKING, Final

from lamphouse.graph.files.kept import own_folder
from lamphouse.graph.files.locks import Held, locked
from lamphouse.graph.media.scan.read_ahead import read_ahead
from lamphouse.graph.media.statistics.kept import KeptStatistics
from lamphouse.graph.media.statistics.measuring import SEGMENT, Measuring, Segment, frames_of
from lamphouse.graph.media.statistics.statistics import Statistics, joined
from lamphouse.nodes.errors import BadInput, Stopped

if TYPE_CHECKING:
    from lamphouse.graph.media.scan.scan import Scan, Source

ANOTHER: Final = 0.5  # seconds between two looks at what another process measures

Said = Callable[[int, int], None]
Stop = Callable[[], bool]


def statistics_of(
    kept: KeptStatistics,
    open_scan: Callable[[], Scan],
    *,
    stopped: Stop = lambda: False,
    said: Said = lambda _done, _frames: None,
) -> Statistics:
    """Return the statistics of a scan: those that are kept, and the rest measured now.

    `stopped` is asked before every frame; `said` is told of the frames measured, and of all. Where another
    process measures this scan, its work is waited for. Raises Stopped, after which what was measured stays,
    and BadInput where the scan cannot be read, or goes meanwhile.
    """
    if (found := kept.statistics()) is not None:
        return found
    fresh: dict[int, Segment] = {}  # the disk may not keep them
    with _alone(kept, stopped, said):
        measure(kept, open_scan, stopped=stopped, said=said, fresh=fresh)
    segments = [fresh.get(segment) or kept.read(segment) for segment in kept.segments]
    whole = [segment for segment in segments if segment is not None]
    if len(whole) < len(segments):
        raise BadInput(f"What is kept in {kept.folder} goes while it is read; make room there and try again.")
    return joined(whole)


def measure(
    kept: KeptStatistics,
    open_scan: Callable[[], Scan],
    *,
    stopped: Stop = lambda: False,
    said: Said = lambda _done, _frames: None,
    fresh: dict[int, Segment] | None = None,
) -> None:
    """Measure the segments that are missing, each kept as soon as it is whole, and put in `fresh` as well."""
    missing = [segment for segment in kept.segments if kept.read(segment) is None]
    done = kept.frames - sum(len(frames_of(segment, kept.frames)) for segment in missing)
    said(done, kept.frames)
    if not missing:
        return
    wanted = frozenset(missing)

    def keep(segment: int, made: Segment) -> None:
        if segment in wanted:
            kept.check(made)
            kept.keep(segment, made)
            if fresh is not None:
                fresh[segment] = made

    measuring = Measuring(kept.frames, keep)
    with open_scan() as scan:
        for frame, source in _pictures(scan, _runs(missing, kept.frames)):
            if stopped():
                raise Stopped(
                    f"Stopped at frame {frame}; what was measured is kept, and the next time goes on."
                )
            measuring.feed(frame, source)
            done += frame // SEGMENT in wanted
            said(done, kept.frames)


def missing_measured(kept: KeptStatistics) -> Callable[[int, Source | None], None]:
    """Return what measures and keeps the missing segments of frames that somebody reads for another purpose.

    It is called with each frame in turn, as `Measuring.feed` is.
    """
    wanted = frozenset(kept.missing())
    if not wanted:
        return lambda _frame, _source: None

    def keep(segment: int, made: Segment) -> None:
        if segment in wanted:
            with suppress(BadInput):  # then the work on the scan itself comes to the same end
                kept.check(made)
                kept.keep(segment, made)

    return Measuring(kept.frames, keep).feed


def _pictures(scan: Scan, runs: Iterable[range]) -> Iterator[tuple[int, Source | None]]:
    """Yield the frames of each run, read on another thread, None for one that cannot be read."""

    def read(frame: int) -> Source | None:
        try:
            return scan.read_coded(frame)
        except BadInput:  # whoever goes there is told why by the scan itself
            return None

    for run in runs:
        with closing(read_ahead(read, run)) as pictures:
            yield from pictures


def _runs(segments: list[int], frames: int) -> Iterator[range]:
    """Yield the frames of neighbouring segments together, with the frame before them and that after."""
    for _, together in groupby(enumerate(segments), lambda pair: pair[1] - pair[0]):
        numbers = [segment for _, segment in together]
        start, stop = numbers[0] * SEGMENT, (numbers[-1] + 1) * SEGMENT
        yield range(max(0, start - 1), min(frames, stop + 1))


@contextmanager
def _alone(kept: KeptStatistics, stopped: Stop, said: Said) -> Iterator[None]:
    """Keep others from measuring the same scan meanwhile; where nothing can be kept, do without that."""
    if own_folder(kept.folder, "Statistics of scans") is None:
        yield
        return
    with ExitStack() as stack:
        while True:
            try:
                stack.enter_context(locked(kept.folder / kept.name, patience=0, removed=True))
                break
            except Held:
                said(kept.measured(), kept.frames)
                if stopped():
                    raise Stopped("Stopped; what another process measures is kept.") from None
                time.sleep(ANOTHER)
            except BadInput:  # nor can a lock be: a disk that is only read, say
                break
        yield
