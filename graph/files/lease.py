"""The right of one process to a file for as long as it wants, which nobody else has meanwhile.

On one machine, and on shared disks whose locks reach the other machines, the system's own lock holds it and
takes it back however its holder ends. For other shared disks there is a mark beside the file as well, which
is touched while its holder lives: one that was not for half a minute counts no more.
"""

from __future__ import annotations

import os
import time
from contextlib import ExitStack, suppress
from pathlib import Path
from typing import Final

from lamphouse.graph.files.locks import Held, holder, locked
from lamphouse.nodes.errors import BadInput

LASTS: Final = 30.0  # seconds that a mark counts after it was last touched, which it is thrice in that time


class Lease:
    """The right to `path`, which is asked for by `take` and given back by `close`. Use it on one thread."""

    def __init__(self, path: Path) -> None:
        from filelock import SoftFileLease

        self._path = Path(os.path.realpath(path))
        mark = self._path.with_name(f".{self._path.name}.held")
        self._mark = SoftFileLease(mark, lease_duration=LASTS, thread_local=False)
        self._taken = ExitStack()
        self.is_ours = False

    def take(self) -> str:
        """Take the right, unless somebody else has it: who, in words, else nothing. Another try costs little.

        Raises BadInput where neither a mark nor a lock can be made.
        """
        if self.is_ours and not self.is_lost:
            return ""
        self.close()
        found = self._marked()
        if found:
            return found
        try:
            self._taken.enter_context(locked(self._path, 0))
        except BadInput as error:
            self.close()
            if isinstance(error, Held):
                return error.holder
            raise
        self.is_ours = True
        return ""

    @property
    def is_lost(self) -> bool:
        """Whether somebody else may have taken it: this machine slept for longer than a mark counts."""
        return self._mark.compromise is not None

    def close(self) -> None:
        """Give the right back."""
        self._taken.close()
        self.is_ours = False
        with suppress(OSError):
            self._mark.release()

    def _marked(self) -> str:
        from filelock import LeaseSettingsMismatch, Timeout

        try:
            self._path.parent.stat()  # the library would make a folder that is not there
            _remove_empty(Path(self._mark.lock_file))
            self._mark.acquire(timeout=0)
        except (Timeout, LeaseSettingsMismatch):  # the latter: of a version where a mark lasts otherwise
            return holder(self._path)
        except (OSError, NotImplementedError) as error:
            reason = getattr(error, "strerror", None) or error
            raise BadInput(
                f"{self._path} cannot be held ({reason}); make its folder writable, or copy it elsewhere."
            ) from error
        return ""


def _remove_empty(mark: Path) -> None:
    """Remove a mark of a machine that went down as it wrote it: to the library it would count for ever."""
    with suppress(FileNotFoundError):
        facts = mark.stat()
        if facts.st_size == 0 and time.time() - facts.st_mtime > LASTS:
            mark.unlink()
