"""Whether the desk makes and uses a working copy of its scan, and how that is told."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from msgspec.structs import replace

from lamphouse.graph.media.working_copy.wanted import Wanted, keep_wanted, read_wanted
from lamphouse.nodes.errors import BadInput

OFF: Final = Wanted(is_on=False)
MINUTE: Final = 60


@dataclass(slots=True)
class Copying:
    """What a person wants of working copies. Where there is a folder of settings it is kept there."""

    wanted: Wanted = OFF
    settings: Path | None = None

    def load(self, settings: Path) -> str:
        """Take what was kept in a folder, and keep there from now on; return what was wrong with it."""
        try:
            self.wanted, self.settings = read_wanted(settings), settings
        except BadInput as error:  # and what cannot be read is not written over
            return str(error)
        return ""

    def turn(self) -> str:
        """Turn the working copy on or off; return why that is not kept, or nothing."""
        self.wanted = replace(self.wanted, is_on=not self.wanted.is_on)
        try:
            if self.settings is not None:
                keep_wanted(self.settings, self.wanted)
        except BadInput as error:
            return str(error)
        return ""


@dataclass(frozen=True, slots=True)
class Copied:
    """How far a working copy has come, in words, and why it goes no farther, where it does not."""

    words: str = ""
    reason: str = ""


def copied(done: int, frames: int, left: float | None, reason: str = "") -> Copied:
    """Return what is said of a copy of which so many frames are done, and that takes `left` more seconds."""
    share = f"working copy {100 * done // frames} %"
    if done >= frames or reason or left is None:
        return Copied("working copy ready" if done >= frames else share, reason)
    if left < MINUTE:
        return Copied(f"{share}, less than a minute left")
    return Copied(f"{share}, {round(left / MINUTE)} min left")
