"""What a check may be told: limits, and the form of a rule, each with its default and where that stands.

Who delivers asks what is wanted there: limits differ between countries and houses.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from lamphouse.graph.check.flashes.display import SDR_WHITE
from lamphouse.graph.check.flashes.forms import FORMS
from lamphouse.graph.check.hearing.targets import TARGETS
from lamphouse.nodes.errors import BadInput, near_names
from lamphouse.nodes.signals import DISPLAY_GAMMA

Value = float | str
Settings = Mapping[str, Value]


@dataclass(frozen=True, slots=True)
class Setting:
    """One thing that may be set: a number of `ends`, or one of `choices`."""

    default: Value
    what: str
    source: str
    choices: tuple[str, ...] = ()
    ends: tuple[float, float] = (0.0, 1e6)

    def read(self, name: str, text: str) -> Value:
        """Return what was typed. Raises BadInput for what it may not be."""
        if self.choices:
            if text not in self.choices:
                raise BadInput(f"{text} is no {name}; give {' or '.join(self.choices)}.")
            return text
        low, high = self.ends
        try:
            value = float(text)
        except ValueError:
            value = float("nan")
        if not low <= value <= high:
            raise BadInput(f"The setting {name} is {text}; give a number from {low:g} to {high:g}.")
        return value


SETTINGS: Final[dict[str, Setting]] = {
    "levels.low": Setting(
        -5.0,
        "per cent of signal that R', G', B' and Y' may go down to",
        "EBU R 103 v3.0, second-hand",
        (),
        (-10, 50),
    ),
    "levels.high": Setting(
        105.0, "per cent of signal that they may go up to", "EBU R 103 v3.0, second-hand", (), (50, 200)
    ),
    "levels.area": Setting(
        1.0, "per cent of the picture that may lie beyond", "EBU R 103 v3.0, second-hand", (), (0, 100)
    ),
    "levels.filter": Setting(
        "on", "whether the filter of EBU R 103 passes first", "EBU R 103 v3.0, second-hand", ("on", "off")
    ),
    "flashes.form": Setting(
        "BT.1702", "the form of the rule for flashes", "each form says its own", tuple(FORMS)
    ),
    "flashes.peak": Setting(
        SDR_WHITE, "cd/m2 of white on the assumed screen", "ITU-R BT.1702-3, second-hand", (), (1, 10000)
    ),
    "flashes.black": Setting(0.0, "cd/m2 of black on the assumed screen", "none: our choice", (), (0, 10)),
    "flashes.gamma": Setting(DISPLAY_GAMMA, "gamma of the assumed screen", "ITU-R BT.1886", (), (1, 4)),
    "sound.target": Setting("R128", "who says how loud sound should be", "each says its own", tuple(TARGETS)),
    "sound.silence": Setting(
        -60.0, "dBFS that silence is not louder than", "common practice, no source", (), (-120, 0)
    ),
    "sound.seconds": Setting(
        3.0, "seconds of silence within the sound that are told", "invented", (), (0.1, 1e6)
    ),
}


def defaults() -> dict[str, Value]:
    """Return every setting as it is where nobody sets it."""
    return {name: setting.default for name, setting in SETTINGS.items()}


def as_typed(name: str, value: Value) -> str:
    """Return a setting as it is typed, such as levels.area=0.5."""
    return f"{name}={value if isinstance(value, str) else format(value, 'g')}"


def other_than_usual(settings: Settings) -> tuple[str, ...]:
    """Return the settings that are not at their defaults, as they are typed."""
    return tuple(
        as_typed(name, settings[name]) for name in SETTINGS if settings[name] != SETTINGS[name].default
    )


def settings_of(typed: Iterable[str]) -> dict[str, Value]:
    """Return the settings with what was typed, as `levels.area=0.5`. Raises BadInput for what is none."""
    found = defaults()
    for text in typed:
        name, sign, value = text.partition("=")
        name = name.strip()
        if not sign:
            raise BadInput(f"'{text}' sets nothing; write it as levels.area=1.")
        if name not in SETTINGS:
            raise BadInput(f"A check has no setting {name}{near_names(name, SETTINGS)}.")
        found[name] = SETTINGS[name].read(name, value.strip())
    return found
