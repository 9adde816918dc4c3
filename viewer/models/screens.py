"""The screens that a picture is on: how each is driven and what is drawn over it, kept from run to run.

One is the desk's own, the other shows the picture alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final, Literal

from lamphouse.graph.files.own_file import read_own, write_own
from lamphouse.graph.files.record import Record
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.monitors import MONITORS, SRGB, Monitor
from lamphouse.viewer.models.profiles import profile_monitor

FILE: Final = "screens.json"
Guide = Literal["safe", "gate", "centre", "thirds"]
GUIDES: Final[dict[Guide, str]] = {
    "safe": "safe areas",
    "gate": "the film's gate",
    "centre": "the centre",
    "thirds": "thirds",
}


@dataclass(slots=True)
class Screen:
    """How a screen is driven, by the name of a monitor or the path of an ICC profile, and its guides."""

    name: str = SRGB
    monitor: Monitor = MONITORS[SRGB]
    guides: set[Guide] = field(default_factory=set)

    def drive(self, name: str) -> None:
        """Drive it as that monitor. Raises BadInput for a profile that cannot be used; then all stays."""
        self.monitor = MONITORS[name] if name in MONITORS else profile_monitor(Path(name))
        self.name = name


class KeptScreen(Record, frozen=True, kw_only=True):
    """A screen as its file has it."""

    monitor: str = SRGB
    guides: tuple[Guide, ...] = ()


class KeptScreens(Record, frozen=True, kw_only=True):
    """Both screens, and the name of the monitor on which the picture alone was last."""

    record: str = "screens/1"
    desk: KeptScreen = KeptScreen()
    alone: KeptScreen = KeptScreen()
    on: str = ""


@dataclass(slots=True)
class Screens:
    """Both screens. Where there is a folder of settings, what is chosen is kept there."""

    desk: Screen = field(default_factory=Screen)
    alone: Screen = field(default_factory=Screen)
    on: str = ""  # the monitor for the picture alone, by its system's name; "": any but the desk's
    is_alone_shown: bool = False
    size: tuple[int, int] = (0, 0)  # pixels of the window that shows the picture alone; none where it is away
    monitors: tuple[str, ...] = ()  # those that are connected
    profiles: list[Path] = field(default_factory=list)  # found on this machine when the list was opened
    settings: Path | None = None

    def load(self, settings: Path) -> str:
        """Take what was kept in a folder, and keep there from now on; return what was wrong with it."""
        troubles = []
        try:
            kept, self.settings = read_own(settings / FILE, KeptScreens, "the screens"), settings
        except BadInput as error:  # and what cannot be read is not written over
            return str(error)
        for screen, of in ((self.desk, kept.desk), (self.alone, kept.alone)):
            screen.guides = set(of.guides)
            try:
                screen.drive(of.monitor)
            except BadInput as error:
                troubles.append(f"{error} The screen is taken for {SRGB}.")
        self.on = kept.on
        return " ".join(dict.fromkeys(troubles))

    def keep(self) -> str:
        """Write what is chosen into the folder of settings; return why that failed, or nothing."""
        if self.settings is None:
            return ""
        kept = KeptScreens(desk=_kept(self.desk), alone=_kept(self.alone), on=self.on)
        try:
            write_own(self.settings / FILE, kept)
        except BadInput as error:
            return str(error)
        return ""


def told_apart(names: Sequence[str]) -> list[str]:
    """Return names of monitors with a number after each that was there before."""
    counts = [names[:n].count(name) for n, name in enumerate(names)]
    return [f"{name} ({count + 1})" if count else name for name, count in zip(names, counts, strict=True)]


def chosen_monitor(names: Sequence[str], on: str, desks: int) -> int:
    """Return the index of the monitor for the picture alone: that called `on`, else any but the desk's."""
    if on in names:
        return names.index(on)
    return next((index for index in range(len(names)) if index != desks), desks)


def _kept(screen: Screen) -> KeptScreen:
    return KeptScreen(monitor=screen.name, guides=tuple(guide for guide in GUIDES if guide in screen.guides))
