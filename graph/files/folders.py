"""Where a person's own files lie on this platform: what is kept to save work, and settings."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Final

from lamphouse.nodes.errors import BadInput

CACHE_VARIABLE: Final = "LAMPHOUSE_CACHE"
SETTINGS_VARIABLE: Final = "LAMPHOUSE_SETTINGS"

_NAME: Final = "lamphouse"


def cache_folder() -> Path:
    """Return the folder of what can be made again: LAMPHOUSE_CACHE, or the platform's usual place."""
    from platformdirs import user_cache_path

    given = os.environ.get(CACHE_VARIABLE)
    return Path(given) if given else user_cache_path(_NAME, appauthor=False)


def settings_folder() -> Path:
    """Return the folder of a person's settings: LAMPHOUSE_SETTINGS, or the platform's usual place."""
    from platformdirs import user_config_path

    given = os.environ.get(SETTINGS_VARIABLE)
    return Path(given) if given else user_config_path(_NAME, appauthor=False, roaming=True)


def make_folder(folder: Path, way_on: str) -> None:
    """Make `folder` where it is missing. Raises BadInput, which ends with what to do, where that fails."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise BadInput(f"{folder} cannot be made ({error.strerror or error}); {way_on}.") from error
