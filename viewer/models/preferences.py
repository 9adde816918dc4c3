"""What a person sets once for their own hands and ears, on every reel: kept among their settings."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Annotated, Any, Final

import msgspec

from lamphouse.graph.files.own_file import read_own, write_own
from lamphouse.graph.files.record import Record
from lamphouse.nodes.errors import BadInput

FILE: Final = "desk.json"
TEXT_SIZES: Final = (0.75, 0.875, 1.0, 1.125, 1.25, 1.5, 1.75, 2.0)  # of what the monitor asks for
LONGEST: Final = 2000  # milliseconds, or frames of them at 25 a second: whoever is slower stops the film
CAUTION: Final = (
    "Fast winding and flicking can make a picture flash; mind who is watching, and keep to your local rules."
)
_MILLISECONDS: Final = 1000
_REACTION: Final = re.compile(r"(\d{1,4}(?:\.\d{1,3})?) *(ms|f|frames?)")


@dataclass(frozen=True, slots=True)
class Reaction:
    """The time from seeing to pressing: milliseconds, or frames of the reel as it plays at its own speed."""

    amount: Fraction
    is_frames: bool = False

    @property
    def text(self) -> str:
        """It as a person types it."""
        return f"{float(self.amount):g} {'frames' if self.is_frames else 'ms'}"

    def frames(self, rate: Fraction, speed: Fraction) -> int:
        """Return how many frames of film pass meanwhile, backwards as a negative number."""
        at_speed_1 = self.amount if self.is_frames else self.amount * rate / _MILLISECONDS
        return round(at_speed_1 * speed)


def parse_reaction(text: str) -> Reaction:
    """Return what a person typed, such as `200 ms` or `5 frames`. Raises BadInput."""
    found = _REACTION.fullmatch(text.strip().lower())
    if found is None or Fraction(found[1]) > LONGEST:
        said = text.strip() or "Nothing"
        raise BadInput(f"{said} is no reaction allowance; give one such as 200 ms or 5 frames.")
    return Reaction(Fraction(found[1]), found[2] != "ms")


class Preferences(Record, frozen=True, kw_only=True):
    """A person's settings of the desk. `reaction` is 200 ms where nothing is said, which is our invention."""

    record: str = "desk/1"
    reaction: str = "200 ms"
    sound_level: float = 0.0  # decibels, as played; a master's stays
    text_size: Annotated[float, msgspec.Meta(ge=TEXT_SIZES[0], le=TEXT_SIZES[-1])] = 1.0
    opened: tuple[str, ...] = ()  # the nodes whose controls are open, in the order in which they were opened

    def __post_init__(self) -> None:
        parse_reaction(self.reaction)


class Preferred:
    """A person's settings of the desk as they are now; with no `folder` they are kept nowhere."""

    def __init__(self, now: Preferences | None = None, folder: Path | None = None) -> None:
        self.now, self._folder = now or Preferences(), folder
        self._is_cautioned = False  # since the program began

    @property
    def reaction(self) -> Reaction:
        """What is taken off when a cue is set on the run."""
        return parse_reaction(self.now.reaction)

    def change(self, *, is_kept: bool = True, **changes: Any) -> str:
        """Take changes and write them, if they are kept; return why they could not be, or nothing."""
        try:
            now = msgspec.structs.replace(self.now, **changes)
            if is_kept and self._folder is not None:
                write_own(self._folder / FILE, now)
        except BadInput as error:
            return str(error)
        self.now = now
        return ""

    def caution(self) -> str:
        """Return a word of caution about flashing pictures the first time, and nothing from then on."""
        said, self._is_cautioned = self._is_cautioned, True
        return "" if said else CAUTION

    def resize(self, way: int) -> str:
        """Make text one size larger (1) or smaller (-1), as far as there is one; return as `change`."""
        nearest = min(range(len(TEXT_SIZES)), key=lambda n: abs(TEXT_SIZES[n] - self.now.text_size))
        return self.change(text_size=TEXT_SIZES[min(max(nearest + way, 0), len(TEXT_SIZES) - 1)])


def preferred(folder: Path) -> tuple[Preferred, str]:
    """Return the settings in the folder of a person's, and what is wrong with the file."""
    try:
        return Preferred(read_own(folder / FILE, Preferences, "settings of the desk"), folder), ""
    except BadInput as error:
        return Preferred(), str(error)
