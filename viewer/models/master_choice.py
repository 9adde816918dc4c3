"""What a pass is to make: which delivery, which frames, which name; and what is said of it before."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from lamphouse.graph.media.master.containers import CONTAINERS
from lamphouse.graph.media.master.delivery import delivery as delivery_of
from lamphouse.graph.media.master.delivery import delivery_names
from lamphouse.graph.reel.records import Delivery
from lamphouse.graph.transfer.beforehand import Beforehand, beforehand
from lamphouse.graph.transfer.plan import Plan, plan
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.ends import marked_frames

USUAL: Final = "hd-ffv1"  # what the command takes where nothing is said
SECOND: Final = 1_000_000_000  # nanoseconds after which a disk is looked at again


@dataclass(frozen=True, slots=True)
class Chosen:
    """A pass as it is chosen: its plan and its file, or why there is none; and what is said of it before."""

    delivery: Delivery | None
    master: Path
    plan: Plan | None = None
    before: Beforehand | None = None
    refused: str = ""

    @property
    def reason(self) -> str:
        """Why it cannot be begun; nothing where it can."""
        return self.refused or (self.before.refused if self.before else "")


class MasterChoice:
    """What is chosen on the page, and what follows from it: reckoned when it is another, and each second."""

    def __init__(self) -> None:
        self.delivery = USUAL
        self.typed = ""  # the name of the file; nothing: the one that is suggested
        self.is_marked = False  # whether only the frames between in and out are made
        self._known: tuple[tuple[object, ...], Chosen] | None = None

    def names(self, desk: Desk) -> list[str]:
        """Return the deliveries there are: the reel's own first."""
        return delivery_names(desk.reel.deliveries)

    def step(self, desk: Desk, by: int) -> None:
        """Choose the delivery that is so many after this one in the list."""
        names = self.names(desk)
        at = names.index(self.delivery) if self.delivery in names else 0
        self.delivery = names[(at + by) % len(names)]

    def frames(self, desk: Desk) -> range:
        """Return the frames of the reel that are made."""
        marked = marked_frames(desk) if self.is_marked else None
        return range(desk.reel.scan.frames) if marked is None else marked

    def now(self, desk: Desk, now: int) -> Chosen:
        """Return what is chosen."""
        frames = self.frames(desk)
        key = desk.reel, self.delivery, self.typed, frames, now // SECOND
        if self._known is None or self._known[0] != key:
            self._known = key, self._chosen(desk, frames)
        return self._known[1]

    def forget(self) -> None:
        """Look at the disk again: something there has changed."""
        self._known = None

    def _chosen(self, desk: Desk, frames: range) -> Chosen:
        try:
            made_of = delivery_of(self.delivery, desk.reel.deliveries)
        except BadInput as error:
            return Chosen(None, self._path(desk, ""), refused=str(error))
        master = self._path(desk, CONTAINERS[made_of.container].suffix)
        try:
            pass_ = plan(desk.opened, made_of, frames.start, frames.stop)
            return Chosen(made_of, master, pass_, beforehand(pass_, master))
        except BadInput as error:
            return Chosen(made_of, master, refused=str(error))

    def _path(self, desk: Desk, suffix: str) -> Path:
        """Return the file as it is typed, from the folder of the reel, else one that is not there yet."""
        folder, stem = desk.reel_file.parent, f"{desk.reel_file.stem}-master"
        if typed := self.typed.strip().strip("\"'"):
            return folder / Path(typed).expanduser()
        path, number = folder / f"{stem}{suffix}", 2
        while path.exists():
            path, number = folder / f"{stem}-{number}{suffix}", number + 1
        return path
