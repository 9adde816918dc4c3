"""The names that lie beside a master until it has its own, and what is there of them.

All begin with the master's name, so that who looks for one finds them together, and who goes on with a pass
finds what it left.
"""

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from lamphouse.graph.files.locks import locked
from lamphouse.nodes.errors import BadInput


@dataclass(frozen=True, slots=True)
class UnderWay:
    """The working files of `master`."""

    master: Path

    @property
    def part(self) -> Path:
        """The master under way: a movie, or a folder of stills."""
        return self._beside(".part")

    @property
    def earlier(self) -> Path:
        """What an earlier pass left, while another goes on with it."""
        return self._beside(".part.earlier")

    @property
    def record(self) -> Path:
        """What is being made, and what each frame of it is."""
        return self._beside(".part.pass")

    @property
    def insert(self) -> Path:
        """A folder: frames that are to take the place of some of the finished master."""
        return self._beside(".insert")

    @property
    def segments(self) -> Path:
        """The folder of segments that were made apart, each with the record of its frames."""
        return self._beside(".part.farm")

    @property
    def names(self) -> tuple[Path, ...]:
        """Every name that is written, and in the end removed."""
        return self.part, self.earlier, self.record, self.segments, self.insert

    @property
    def left(self) -> list[Path]:
        """What a pass has left. Raises BadInput for a link, which none of ours would be."""
        found = [path for path in (self.part, self.earlier, self.segments) if os.path.lexists(path)]
        for path in found:
            if path.is_symlink():
                raise BadInput(f"{path} is a link, which no pass leaves; remove it.")
        return found

    def discard(self) -> None:
        """Delete what a pass has left."""
        for path in self.names:
            remove(path)

    @contextmanager
    def alone(self) -> Iterator[None]:
        """Keep everyone else who would write this master out. Raises BadInput, which says who writes."""
        if not self.master.parent.is_dir():
            raise BadInput(f"There is no folder {self.master.parent}; make it, or choose another place.")
        with locked(self.master, 0, removed=True):
            yield

    def tidy(self) -> None:
        """Give what an earlier pass left its name again where it is free, and remove an idle record."""
        if self.earlier.exists() and not self.part.exists():
            self.earlier.replace(self.part)
        if not self.left:
            remove(self.record)

    def _beside(self, ending: str) -> Path:
        return self.master.with_name(self.master.name + ending)


def remove(path: Path) -> None:
    """Delete a file, a link or a whole folder; where there is nothing, do nothing. Raises BadInput."""
    try:
        if path.is_dir() and not path.is_symlink():
            shutil.rmtree(path)
        else:
            path.unlink(missing_ok=True)
    except OSError as error:
        raise BadInput(f"{path} cannot be removed ({error.strerror}); remove it by hand.") from error
