"""A folder that appears under its name only when it is whole, where nothing stood before."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from lamphouse.graph.files.locks import locked
from lamphouse.graph.files.whole_file import beside, discard, sweep, sync_folder
from lamphouse.nodes.errors import BadInput


@contextmanager
def whole_folder(path: Path) -> Iterator[Path]:
    """Yield an empty folder to fill; on leaving all in it is forced to disk and it is called `path`.

    Where the body or the disk fails, nothing is left. Raises BadInput where something is at `path`, somebody
    else makes it now, or it cannot be written.
    """
    path = path.absolute()
    _refuse(path)
    with locked(path, 0, removed=True):
        _refuse(path)  # whoever had the lock may have made it
        sweep(path)
        working = beside(path)
        try:
            working.mkdir()
            yield working
            _sync_all(working)
            working.rename(path)
        except OSError as error:
            reason = error.strerror or error
            raise BadInput(
                f"{path} cannot be written ({reason}); make room or choose another place."
            ) from error
        finally:
            discard(working)
        sync_folder(path)


def _refuse(path: Path) -> None:
    if os.path.lexists(path):
        raise BadInput(f"{path} is there already and is never written over; give another name.")
    if not path.parent.is_dir():
        raise BadInput(f"There is no folder {path.parent}; make it, or choose another place.")


def _sync_all(folder: Path) -> None:
    for place, _, names in os.walk(folder):
        for name in names:
            with Path(place, name).open("rb") as file:
                os.fsync(file.fileno())
        sync_folder(Path(place, "any"))
