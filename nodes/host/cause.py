"""What somebody else's code raised, told in one clause with the line that its author must look at."""

from __future__ import annotations

import importlib
import traceback
from pathlib import Path
from typing import Final

from lamphouse.nodes.errors import BadInput

# Lines in these led to the error and tell an author nothing.
_OURS: Final = ("<frozen", str(Path(__file__).parents[1]), str(Path(importlib.__file__).parent))


def cause(error: BaseException, source: Path | None = None) -> str:
    """Return the type and message of `error`, and the last line in `source`, or not ours, that led to it."""
    while isinstance(error, BadInput) and error.__cause__ is not None:
        error = error.__cause__  # the sentence for a user says less than what its author raised
    if isinstance(error, SyntaxError) and error.filename:
        return f"SyntaxError: {error.msg}, {error.filename} line {error.lineno}"
    message = " ".join(str(error).split()).rstrip(".: ")
    text = message if isinstance(error, BadInput) else f"{type(error).__name__}: {message}".rstrip(": ")
    frames = traceback.extract_tb(error.__traceback__)
    own = [frame for frame in frames if frame.filename == str(source)]
    own = own or [frame for frame in frames if not frame.filename.startswith(_OURS)]
    return f"{text}, {own[-1].filename} line {own[-1].lineno}" if own else text
