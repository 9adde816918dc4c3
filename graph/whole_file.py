"""A file that appears under its name only when it is whole."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from lamphouse.nodes.errors import BadInput


@contextmanager
def whole_file(path: Path) -> Iterator[BinaryIO]:
    """Yield a file to write; on leaving it is forced to disk and takes the place of `path`.

    Where the body or the disk fails, what was there before stays, and nothing half-written.
    Raises BadInput for an OSError, with its reason.
    """
    part = path.with_name(path.name + ".part")
    try:
        with part.open("wb") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except OSError as error:
        part.unlink(missing_ok=True)
        reason = error.strerror or error
        raise BadInput(f"{path} cannot be written ({reason}); make room or choose another place.") from error
    except BaseException:
        part.unlink(missing_ok=True)
        raise
