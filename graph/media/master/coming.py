"""Frames that take the place of some in a finished master, so that a kill at any moment leaves it whole.

All that comes lies in a folder beside the master until it is complete and on the disk. Then the new record is
put into that folder, in one step: from there on the insert counts as done, and whoever comes next puts in
place what is not there yet, as often as it takes. Before it nothing has been done, and the folder is thrown
away. Numbered stills are many files, so that nothing less would do.
"""

from __future__ import annotations

import os
import shutil
from pathlib import Path
from typing import Final

import msgspec

from lamphouse.graph.files.json_document import write_document
from lamphouse.graph.files.record import spread
from lamphouse.graph.files.whole_file import second_name, sync_folder, whole_file
from lamphouse.graph.media.master.record import (
    COMING,
    MasterRecord,
    load_record_file,
    record_path,
    save_record,
)
from lamphouse.graph.media.master.under_way import UnderWay, remove
from lamphouse.nodes.errors import BadInput

KEPT: Final = "before-insert"  # in the name of a master that was kept


class Coming:
    """What is to take its place in the finished master of `way`. Only for who holds the lock of that."""

    def __init__(self, way: UnderWay) -> None:
        self._master, self._folder = way.master, way.insert
        self._record, self._files = way.insert / COMING, way.insert / "new"

    def begin(self) -> None:
        """Begin with nothing, and throw away what a dead insert left. Raises BadInput."""
        self.discard()
        try:
            self._files.mkdir(parents=True)
        except OSError as error:
            raise BadInput(
                f"{self._folder} cannot be made ({error.strerror}); make its folder writable."
            ) from error

    def piece(self, number: int) -> Path:
        """Return where a piece of the master may be made, in a folder of its own."""
        folder = self._folder / str(number)
        folder.mkdir()
        return folder / self._master.name

    def file(self, name: str) -> Path:
        """Return where the new file is made that will be called `name`."""
        return self._files / name

    @property
    def _place(self) -> Path:
        """The folder in which files of the master lie."""
        return self._master if self._master.is_dir() else self._master.parent

    @property
    def names(self) -> list[str]:
        """The names of the files that are to be put in place."""
        return sorted(path.name for path in self._files.iterdir())

    def keep_old(self, old: MasterRecord) -> None:
        """Have the master as it is now, and its record, stay under the name that `kept` says."""
        kept = kept_name(self._master, old)
        if os.path.lexists(kept):
            raise BadInput(f"{kept}, where the master would be kept, is there already; rename that.")
        aside = self._folder / "old"
        aside.mkdir()
        if self._master.is_dir():
            (aside / kept.name).mkdir()
            for path in self._master.iterdir():
                second_name(path, aside / kept.name / path.name)
        else:
            second_name(self._master, aside / kept.name)
            old = msgspec.structs.replace(old, files={kept.name: old.files[self._master.name]})
        with whole_file(record_path(aside / kept.name)) as file:
            file.write(write_document(spread(old), "The record"))

    def commit(self, record: MasterRecord) -> None:
        """Force all to disk, decide that it takes its place, and put it there."""
        for path in self._files.iterdir():
            if (old := self._place / path.name).exists():
                shutil.copymode(old, path)
            with path.open("rb") as file:
                os.fsync(file.fileno())
        sync_folder(self._files / "any")
        with whole_file(self._record) as file:
            file.write(write_document(spread(record), "The record"))
        self.settle()

    def settle(self) -> bool:
        """Put in place what was decided, and say whether there was anything. Raises BadInput."""
        if not self._record.exists():
            return False
        try:
            for path in sorted((self._folder / "old").glob("*")):
                path.replace(self._master.with_name(path.name))
            for path in sorted(self._files.glob("*")):
                path.replace(self._place / path.name)
            sync_folder(self._place / "any")
        except OSError as error:
            raise BadInput(
                f"{self._master} cannot be replaced ({error.strerror}); make its folder writable and give "
                "the same insert again."
            ) from error
        save_record(self._master, load_record_file(self._record))
        self.discard()
        return True

    def abandon(self) -> None:
        """Throw it away, unless it has been decided that it takes its place."""
        if not self._record.exists():
            self.discard()

    def discard(self) -> None:
        """Throw it away. What decides goes first: killed here, the rest is of no use to anyone."""
        remove(self._record)
        remove(self._folder)


def kept_name(master: Path, old: MasterRecord) -> Path:
    """Return the name under which `master` is kept as it was before the next insert."""
    return master.with_name(f"{master.stem}.{KEPT}-{len(old.inserts) + 1}{master.suffix}")
