"""What the page of the sticks holds: which device is there, what is chosen, learned and typed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Literal

from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.sticks.learn import Learning, after_pose, learned
from lamphouse.viewer.sticks.mapping import Device, StickMap
from lamphouse.viewer.sticks.shelf import Shelf
from lamphouse.viewer.sticks.step import Pose, Seen
from lamphouse.viewer.sticks.words import button_words, move_words

Chosen = tuple[Literal["move", "press"], int]


@dataclass(slots=True)
class SticksPage:
    """The page, and the mappings that it shows and changes. It knows no window."""

    shelf: Shelf = field(default_factory=Shelf)
    is_open: bool = False
    device: Device = "gamepad"  # the kind that is there; while none is, the kind whose mapping is shown
    seen: Seen | None = None
    pose: Pose | None = None
    row: Chosen | None = None
    learning: Learning | None = None
    searched: str = ""
    name: str = ""  # to keep the mapping under, as it is typed; empty: the one that is offered
    message: str = ""

    @property
    def mapping(self) -> StickMap:
        """The mapping that is shown."""
        return self.shelf.used(self.device).mapping

    def turn(self) -> None:
        """Open the page, or close it; what was being learned is left."""
        self.is_open, self.learning, self.message = not self.is_open, None, ""

    def look(self, device: Device, seen: Seen | None, pose: Pose | None) -> None:
        """Take in where the sticks stand; `pose` is None when there are none."""
        if device != self.device:
            self.show(device)
        self.seen, self.pose = seen, pose
        if pose is None and self.learning is not None:
            self.learning, self.message = None, "The joysticks are gone; the mapping stays as it was."

    def show(self, device: Device) -> None:
        """Show the mapping for another kind of device."""
        self.device, self.row, self.learning, self.name, self.message = device, None, None, "", ""

    def listen(self, pose: Pose) -> None:
        """Go on with what is being learned; once all is shown, it works."""
        if self.learning is None:
            return
        self.learning = after_pose(self.learning, pose)
        if self.learning.is_done:
            done, self.learning, before = self.learning, None, self.mapping
            if self.change(lambda mapping: learned(mapping, done)):
                self.message = _displaced(self.device, before, self.mapping, done)
                self._choose(done)

    def change(self, edit: Callable[[StickMap], StickMap], drag: str | None = None) -> bool:
        """Work by an edited mapping from now on, and say whether it can be; else `message` has the reason."""
        return self.do(lambda: self.shelf.change(self.device, edit(self.mapping), drag))

    def do(self, act: Callable[[], None]) -> bool:
        """Do something with the shelf, and say whether it succeeded; else `message` has the reason."""
        self.message = ""
        try:
            act()
        except BadInput as error:
            self.message = str(error)
        return not self.message

    def keep_all(self) -> str:
        """Keep every changed mapping under a name that is offered; return why not, or nothing."""
        for device in self.shelf.unkept:
            try:
                self.shelf.keep(device, self.shelf.free_name(device))
            except BadInput as error:
                self.message = str(error)
                return self.message
        return ""

    def _choose(self, done: Learning) -> None:
        """Choose the row that was learned: it may have moved up where it took the place of others."""
        numbers = {source for source, _, _ in done.found}
        if done.want == "press":
            rows = [("button", press.button) in numbers for press in self.mapping.presses]
            self.row = ("press", rows.index(True))
        elif done.want in ("plane", "line"):
            moves = self.mapping.moves
            found = [n for n, m in enumerate(moves) if m.control == done.target and m.sources == numbers]
            self.row = ("move", found[-1 if done.row is None else 0])


def _displaced(device: Device, before: StickMap, after: StickMap, done: Learning) -> str:
    """Return a sentence on what no longer works because its stick or button was given away."""
    kept = done.row if done.want in ("plane", "line", "held") else None
    moves = [m for n, m in enumerate(before.moves) if n != kept and m not in after.moves]
    lost = [f"{move_words(device, move)} no longer moves {move.control}" for move in moves]
    kept = done.row if done.want == "press" else None
    presses = [p for n, p in enumerate(before.presses) if n != kept and p not in after.presses]
    lost += [f"{button_words(device, press.button)} no longer does {press.action}" for press in presses]
    text = "; ".join(lost)
    return text[:1].upper() + text[1:] + "." if text else ""
