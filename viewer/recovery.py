"""What has not been saved yet, kept beside the reel, so that a crash loses seconds and not hours."""

from __future__ import annotations

from itertools import count
from pathlib import Path
from typing import Final

from lamphouse.graph.reel import Reel
from lamphouse.graph.store import decode, encode
from lamphouse.graph.whole_file import whole_file
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.regular_file import read_regular

SUFFIX: Final = ".recovery"
BETWEEN: Final = 5_000_000_000  # nanoseconds from one writing to the next while work goes on
AT_REST: Final = 700_000_000  # nanoseconds without a change that count as rest


class Recovery:
    """The recovery file of a reel: written at rest and every few seconds, gone when all is saved."""

    def __init__(self, reel_file: Path, saved: Reel) -> None:
        self.path = reel_file.with_name(reel_file.name + SUFFIX)
        self._saved = self._written = self._seen = saved
        self._changed_at = self._written_at = 0

    def offered(self) -> Reel | None:
        """Return what an earlier run left, or None where it left nothing that differs from the reel.

        Raises BadInput where the file is there and cannot be read.
        """
        try:
            data = read_regular(self.path)
        except FileNotFoundError:
            return None
        except OSError as error:
            raise BadInput(
                f"{self.path} cannot be read ({error.strerror}); look at it, or remove it"
            ) from error
        reel = decode(data, str(self.path))
        return None if reel == self._saved else reel

    def set_aside(self) -> Path:
        """Give what an earlier run left a name that this run does not write, and return it.

        Raises BadInput where the folder does not let that be done.
        """
        numbers = (self.path.with_name(f"{self.path.name}.{n}") for n in count(1))
        aside = next(path for path in numbers if not path.exists())
        try:
            self.path.rename(aside)
        except OSError as error:
            raise BadInput(f"{self.path} cannot be renamed ({error.strerror}); copy it elsewhere") from error
        return aside

    def keep(self, reel: Reel, now: int) -> None:
        """Write `reel` if it is time to, `now` being nanoseconds of a clock that never goes back.

        Raises BadInput where it cannot be written; the next try is some seconds later.
        """
        if reel is not self._seen:
            self._seen, self._changed_at = reel, now
        if reel is self._written or reel == self._saved:
            return
        if now - self._changed_at >= AT_REST or now - self._written_at >= BETWEEN:
            self._written_at = now
            with whole_file(self.path) as file:
                file.write(encode(reel))
            self._written = reel

    def wait(self, reel: Reel, now: int) -> int | None:
        """Return the nanoseconds until `keep` has something to do, or None where it has not."""
        if reel is self._written or reel == self._saved:
            return None
        return max(0, min(self._changed_at + AT_REST, self._written_at + BETWEEN) - now)

    def saved(self, reel: Reel) -> None:
        """Take `reel` as saved, and remove the file."""
        self._saved = self._written = reel
        self.path.unlink(missing_ok=True)
