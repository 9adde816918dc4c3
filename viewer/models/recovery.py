"""What has not been saved yet, kept beside the reel, so that a crash loses seconds and not hours."""

from __future__ import annotations

import os
from dataclasses import dataclass
from datetime import datetime
from itertools import count
from pathlib import Path
from typing import Final

from lamphouse.graph.edits.differences import Difference, differences
from lamphouse.graph.files.lease import Lease
from lamphouse.graph.files.whole_file import sweep, whole_file
from lamphouse.graph.reel.records import Reel
from lamphouse.graph.reel.store import decode, encode
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.regular_file import read_regular

SUFFIX: Final = ".recovery"


@dataclass(frozen=True, slots=True)
class LeftOver:
    """What an earlier run did not save: the reel, when it was kept, and how it differs from the saved one."""

    reel: Reel
    made: str
    rows: tuple[Difference, ...] = ()


def when(path: Path) -> str:
    """Return when a file was last written, by the clock of this place, or nothing where that is not known."""
    try:
        return f"{datetime.fromtimestamp(path.stat().st_mtime):%Y-%m-%d at %H:%M:%S}"
    except (OSError, ValueError, OverflowError):
        return ""


class Recovery:
    """The recovery file of a reel: written when it is told to, gone when all is saved.

    One desk at a time works on a reel: who has the right to this file has the right to that. Others see who
    `holder` is, and write nothing.
    """

    def __init__(self, reel_file: Path, saved: Reel) -> None:
        self._reel_file = Path(os.path.realpath(reel_file))
        self.path = self._reel_file.with_name(self._reel_file.name + SUFFIX)
        self._saved = self._written = saved
        self._differing: Reel | None = None  # what was found to differ from what is saved
        self._lease = Lease(self.path)
        self.holder = ""  # the other desk that works on the reel, in words
        self._is_asked = False  # whether what an earlier run left is still to be decided on

    def claim(self) -> bool:
        """Take the right to work on the reel, and return whether this desk has it.

        Where there can be no lock, no file can be written either: that is told then.
        """
        try:
            self.holder = self._lease.take()
        except BadInput:
            self.holder = ""
        if self._lease.is_ours:
            sweep(self.path)
        return not self.holder

    def is_free(self) -> bool:
        """Say whether the other desk is gone, and leave the right for who takes it next."""
        try:
            found = self._lease.take()
        except BadInput:
            return False
        if not found:
            self._lease.close()
        self.holder = found or self.holder
        return not found

    @property
    def is_lost(self) -> bool:
        """Whether another desk may have taken the right meanwhile."""
        return self._lease.is_ours and self._lease.is_lost

    def close(self) -> None:
        """Let another desk work on the reel."""
        self._lease.close()

    def offered(self) -> LeftOver | None:
        """Return what an earlier run left, or None where it left nothing that differs from the reel.

        Until it is `answered`, or kept by `keep_left_over`, nothing is written over it. Raises BadInput where
        the file is there and cannot be read.
        """
        if not self.claim():
            return None
        try:
            data = read_regular(self.path)
        except FileNotFoundError:
            return None
        except OSError as error:
            self._is_asked = True
            raise BadInput(
                f"{self.path} cannot be read ({error.strerror}); look at it, or remove it."
            ) from error
        self._is_asked = True
        reel = decode(data, str(self.path))
        self._is_asked = reel != self._saved
        if not self._is_asked:
            return None
        return LeftOver(reel, when(self.path), differences(reel, self._saved))

    def answered(self) -> None:
        """Let what an earlier run left be written over: it is what the desk holds."""
        self._is_asked = False

    def keep_left_over(self) -> Path:
        """Give what an earlier run left a name that this run does not write, and return it.

        Raises BadInput where the folder does not let that be done.
        """
        numbers = (self.path.with_name(f"{self.path.name}.{n}") for n in count(1))
        aside = next(path for path in numbers if not path.exists())
        try:
            self.path.rename(aside)
        except OSError as error:
            raise BadInput(f"{self.path} cannot be renamed ({error.strerror}); copy it elsewhere.") from error
        self._is_asked = False
        return aside

    def lacks(self, reel: Reel) -> bool:
        """Say whether `reel` is neither saved nor kept here, and may be."""
        if self._is_asked or self.holder or reel is self._written or reel is self._saved:
            return False
        if self._differing is not reel and reel != self._saved:
            self._differing = reel
        return self._differing is reel

    def keep(self, reel: Reel) -> None:
        """Write `reel`, if it is lacking. Raises BadInput where it cannot be written."""
        if self.lacks(reel) and self.claim():
            with whole_file(self.path) as file:
                file.write(encode(reel))
            self._written = reel

    def saved(self, reel: Reel) -> None:
        """Take `reel` as saved, and remove the file, unless it is still to be decided on."""
        self._saved = self._written = reel
        self._differing = None
        if not self._is_asked and not self.holder:
            self.path.unlink(missing_ok=True)
