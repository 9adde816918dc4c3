"""What has not been saved yet, kept beside the reel, so that a crash loses seconds and not hours."""

from __future__ import annotations

import os
from contextlib import ExitStack
from itertools import count
from pathlib import Path
from typing import Final

from lamphouse.graph.files.locks import Held, locked
from lamphouse.graph.files.whole_file import sweep, whole_file
from lamphouse.graph.reel.records import Reel
from lamphouse.graph.reel.store import decode, encode
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.regular_file import read_regular

SUFFIX: Final = ".recovery"
MOST: Final = 99  # desks on one reel


class Recovery:
    """The recovery file of a reel at one desk: written when it is told to, gone when all is saved.

    Desks on the same reel have a file each, `path`, which each of them locks while it is open.
    """

    def __init__(self, reel_file: Path, saved: Reel) -> None:
        self._reel_file = Path(os.path.realpath(reel_file))
        self.path = self._reel_file.with_name(self._reel_file.name + SUFFIX)
        self._saved = self._written = saved
        self._differing: Reel | None = None  # what was found to differ from what is saved
        self._lock = ExitStack()
        self._is_claimed = False
        self._is_asked = False  # whether what an earlier run left is still to be decided on

    def claim(self) -> str:
        """Take a file that no other desk has, with what a crash left in it if there is such; once.

        Return a sentence where another desk has the reel open, else nothing.
        """
        if self._is_claimed:
            return ""
        self._is_claimed = True
        first, holder = self.path, ""
        paths = [first, *(first.with_name(f"{first.name}-{n}") for n in range(2, MOST + 1))]
        for path in sorted(paths, key=lambda path: not path.exists()):
            try:
                self._lock.enter_context(locked(path, 0))
            except Held as error:
                holder = error.holder
                continue
            except BadInput:  # where there can be no lock, no file can be written: that is told then
                return ""
            self.path = path
            break
        sweep(self.path)
        if not holder:
            return ""
        name = self._reel_file.name
        return f"{name} is open at another desk ({holder}); what is not saved here is in {self.path.name}."

    def close(self) -> None:
        """Let another desk have the file."""
        self._lock.close()
        self._is_claimed = False

    def offered(self) -> Reel | None:
        """Return what an earlier run left, or None where it left nothing that differs from the reel.

        Until it is `answered`, or kept by `keep_left_over`, nothing is written over it. Raises BadInput where
        the file is there and cannot be read.
        """
        self.claim()
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
        return reel if self._is_asked else None

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
        if self._is_asked or reel is self._written or reel is self._saved:
            return False
        if self._differing is not reel and reel != self._saved:
            self._differing = reel
        return self._differing is reel

    def keep(self, reel: Reel) -> None:
        """Write `reel`, if it is lacking. Raises BadInput where it cannot be written."""
        if self.lacks(reel):
            self.claim()
            with whole_file(self.path) as file:
                file.write(encode(reel))
            self._written = reel

    def saved(self, reel: Reel) -> None:
        """Take `reel` as saved, and remove the file, unless it is still to be decided on."""
        self._saved = self._written = reel
        self._differing = None
        if not self._is_asked:
            self.path.unlink(missing_ok=True)
