"""Opens a scan, whatever kind of file it is."""

from pathlib import Path
from typing import Final

from lamphouse.graph.media.codes.ycbcr import LUMA
from lamphouse.graph.media.scan.scan import STILLS, Scan
from lamphouse.graph.progress import Step
from lamphouse.nodes.errors import BadInput, near_names

RANGES: Final = ("video", "full")


def open_scan(
    path: Path,
    *,
    matrix: str | None = None,
    range_: str | None = None,
    any_order: bool = False,
    step: Step | None = None,
) -> Scan:
    """Open a movie file, a folder of numbered stills, or the sequence that one still belongs to.

    `matrix` (bt601, bt709, bt2020) and `range_` (video, full) override the tags of the file and
    the usual assumptions; `any_order` says that frames are not read one after the other. `step` is told how
    far the numbering of a movie has come, in place of the terminal. Raises BadInput for a path that is
    missing or holds nothing readable.
    """
    _check_override("matrix", matrix, LUMA)
    _check_override("range", range_, RANGES)
    try:
        return _open(path, matrix, range_, any_order, step)
    except OSError as error:
        raise BadInput(
            f"{path} cannot be read ({error.strerror or error}); see to the file, or give another."
        ) from error


def _open(path: Path, matrix: str | None, range_: str | None, any_order: bool, step: Step | None) -> Scan:
    if not path.exists():
        raise BadInput(f"{path} does not exist; give a movie file or a folder of numbered stills.")
    if path.is_dir() or path.suffix.lower() in STILLS:
        from lamphouse.graph.media.scan.stills import StillScan

        return StillScan(path, matrix=matrix, range_=range_)
    from lamphouse.graph.media.scan.movie import MovieScan

    return MovieScan(path, matrix=matrix, range_=range_, any_order=any_order, step=step)


def _check_override(
    what: str, value: str | None, known: dict[str, tuple[float, float, float]] | tuple[str, ...]
) -> None:
    if value is not None and value not in known:
        raise BadInput(f"The {what} {value!r} is not known{near_names(value, known)}.")
