"""The one place where a file of pictures or sound is opened for reading."""

from pathlib import Path
from typing import Any, Final

import av
from av.container import InputContainer

# PyAV 18 raises on tags that are not UTF-8 unless told otherwise; PyAV 19 knows no such argument.
_OLD: Final = int(av.__version__.split(".")[0]) < 19
_TAGS: Final[dict[str, Any]] = {"metadata_errors": "replace"} if _OLD else {}


def open_media(path: Path) -> InputContainer:
    """Open the file at `path` to read its streams. Raises what PyAV and the system raise."""
    container: InputContainer = av.open(f"file:{path}", "r", **_TAGS)
    return container
