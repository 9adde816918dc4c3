"""A name that others gave in letters that every system and format takes, and that leads nowhere else."""

from __future__ import annotations

import re


def plain_name(text: str, stand_in: str) -> str:
    """Return `text` in ASCII letters, digits, - _ and . alone, or `stand_in` where nothing is left of it.

    It begins with no dot, so that it is never hidden and never leads out of its folder.
    """
    return re.sub(r"[^A-Za-z0-9_.-]+", "-", text).strip("-.") or stand_in
