"""One control of a node, and the kinds of control that there are.

A kind is a class of its own: nothing else tells kinds apart, but the desk, which draws them.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any, ClassVar, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.colorimetry import check_white, chromaticity, white_at, white_position
from lamphouse.nodes.errors import BadInput, near_names
from lamphouse.nodes.monotone import are_rising, mean
from lamphouse.nodes.tonal_range import TonalRange
from lamphouse.nodes.values import SLOPES, Travel, Value, are_numbers, in_range, is_number, shown, value_text

CHANNELS: Final = ("red", "green", "blue")


class Kind:
    """A kind of parameter. `Kind.TRIPLE` is the one object of the class below that is named `triple`.

    What a class does not say is as it is for a text that may be anything. `p` is the parameter asked about.
    """

    NUMBER: ClassVar[Kind]
    TRIPLE: ClassVar[Kind]  # one number for each of red, green, blue
    WHITE: ClassVar[Kind]  # CIE 1931 x, y, or a colour temperature in kelvin
    POINTS: ClassVar[Kind]  # a curve through (x, y) points
    CHOICE: ClassVar[Kind]
    FILE: ClassVar[Kind]  # the path of a file, or nothing

    name: ClassVar[str]
    wanted: ClassVar[str]  # what a person is asked for
    travels: ClassVar[tuple[Travel, ...]] = (Travel.STEP,)
    selects_code: ClassVar[bool] = False  # its values are texts that decide what is traced; else numbers
    is_file: ClassVar[bool] = False  # they are paths, which a reel stores relative to itself
    is_input: ClassVar[bool] = False  # a body reads them as they are, and not only through `derive`
    axes: ClassVar[int] = 0  # of a hand that moves them: 1 along a line, 2 about the plane of a balance

    def __init_subclass__(cls, name: str) -> None:
        cls.name = name
        KINDS[name] = cls()
        setattr(Kind, name.upper(), KINDS[name])

    def parse(self, text: str, where: str) -> Any:
        """Return what a person typed, still to be checked, or raise BadInput that names `where`."""
        try:
            return self.read(text.strip())
        except ValueError:
            raise BadInput(f"{where} = {text} cannot be read; give {self.wanted}.") from None

    def read(self, text: str) -> Any:
        """Return what `text` says; raise ValueError where it says nothing of this kind."""
        return text

    def check(self, value: Any, p: Parameter, where: str) -> Value:
        """Return `value` in the form of its kind, or raise BadInput that names `where` and the range."""
        if not self.fits(value):
            raise BadInput(f"{where} = {shown(value)} cannot be used; give {self.wanted}.")
        return self.within(value, p, where)

    def fits(self, value: Any) -> bool:
        """Return whether `value` has the form, whatever it holds."""
        return isinstance(value, str)

    def within(self, value: Any, p: Parameter, where: str) -> Value:
        """Return a `value` that fits, or raise BadInput where `p` does not allow what it holds."""
        return str(value)

    def words(self, p: Parameter) -> str:
        """Return which values `p` may have, as a clause."""
        return self.wanted

    def text(self, value: Value) -> str:
        """Return a value as a person would type it."""
        return value_text(value)

    def between(self, start: Any, end: Any, share: float, travel: Travel) -> Value:
        """Return the value at `share` of the way, between 0 and 1, from one value to another."""
        raise NotImplementedError(f"A {self.name} travels by step.")

    def array(self, value: Any) -> NDArray[np.float64]:
        """Return the numbers of a value as a body takes them, a channel a row."""
        return np.asarray(value, np.float64).reshape(-1, 1)

    def position(self, value: Any, p: Parameter) -> tuple[float, ...]:
        """Return where a value of two axes lies: numbers that a hand moves evenly."""
        return tuple(map(p.travel.position, value))

    def at(self, position: tuple[float, ...], p: Parameter) -> Value:
        """Return the value that lies there, or of those that `p` may have the nearest."""
        return tuple(p.within(p.travel.at(number)) for number in position)

    def chosen(self, value: Any, folder: Path) -> str:
        """Return the text that selects code; the path of a file is taken from `folder`."""
        return str(value)

    def options(self, p: Parameter) -> tuple[Value, ...]:
        """Return the values of which each selects other code, so far as they can be known."""
        return (p.default,)

    def ends(self, p: Parameter) -> tuple[Value, ...]:
        """Return what to try: both ends of the range and 0 between them, or all that it can be."""
        return self.options(p)


KINDS: Final[dict[str, Kind]] = {}  # by name; filled by the classes below and by nothing else


class Number(Kind, name="number"):
    """A number."""

    wanted = "a number such as 1.2"
    travels = (Travel.LINEAR, Travel.LOG)
    is_input, axes = True, 1

    def read(self, text: str) -> Any:
        numbers = tuple(float(number) for number in text.split(","))
        return numbers[0] if len(numbers) == 1 else numbers

    def fits(self, value: Any) -> bool:
        return is_number(value)

    def within(self, value: Any, p: Parameter, where: str) -> Value:
        return in_range(value, p.low, p.high, where)

    def words(self, p: Parameter) -> str:
        return f"{p.low:g} to {p.high:g} {p.unit}".rstrip()

    def between(self, start: Any, end: Any, share: float, travel: Travel) -> Value:
        return travel.between(start, end, share)

    def ends(self, p: Parameter) -> tuple[Value, ...]:
        # At 0 maths most often finds nothing to divide by.
        return (p.low, p.high, 0.0) if p.low < 0 < p.high else (p.low, p.high)


class Triple(Number, name="triple"):
    """Three numbers, of channels or of what else `parts` names; one number typed stands for three."""

    wanted = "three numbers such as 1.1,1,0.9"
    axes = 2

    def read(self, text: str) -> Any:
        read = super().read(text)
        return read if isinstance(read, tuple) else (read,) * 3

    def fits(self, value: Any) -> bool:
        return are_numbers(value, 3)

    def within(self, value: Any, p: Parameter, where: str) -> Value:
        return tuple(in_range(number, p.low, p.high, where) for number in value)

    def words(self, p: Parameter) -> str:
        return f"{', '.join(p.parts)}, each {super().words(p)}"

    def between(self, start: Any, end: Any, share: float, travel: Travel) -> Value:
        return tuple(travel.between(a, b, share) for a, b in zip(start, end, strict=True))

    def ends(self, p: Parameter) -> tuple[Value, ...]:
        return tuple((end,) * 3 for end in super().ends(p))  # type: ignore[misc]  # each is a number


class White(Kind, name="white"):
    """The white of a light, which travels as a chromaticity however it was given."""

    wanted = "x,y such as 0.3127,0.329 or kelvin such as 5600K"
    travels = (Travel.LINEAR, Travel.LOG)
    axes = 2

    def read(self, text: str) -> Any:
        return Kind.NUMBER.read(text.rstrip("Kk"))

    def fits(self, value: Any) -> bool:
        return is_number(value) or are_numbers(value, 2)

    def within(self, value: Any, p: Parameter, where: str) -> Value:
        return check_white(value, where)

    def words(self, p: Parameter) -> str:
        return f"a white, {p.unit}" if p.unit else "a white"

    def text(self, value: Value) -> str:
        return value_text(value) if isinstance(value, tuple) else f"{value_text(value)}K"

    def between(self, start: Any, end: Any, share: float, travel: Travel) -> Value:
        return Kind.TRIPLE.between(chromaticity(start), chromaticity(end), share, Travel.LINEAR)

    def position(self, value: Any, p: Parameter) -> tuple[float, ...]:
        return white_position(value)

    def at(self, position: tuple[float, ...], p: Parameter) -> Value:
        return white_at(position)


class Points(Kind, name="points"):
    """A curve through (x, y) points, or (x, y, slope) ones on the way between two curves."""

    wanted = "points such as 0,0 0.5,0.6 1,1 with x rising from 0 to 1 by 0.0001 or more"
    travels = (Travel.POINTS,)

    def read(self, text: str) -> Any:
        return tuple(tuple(float(number) for number in point.split(",")) for point in text.split())

    def fits(self, value: Any) -> bool:
        return are_rising(value)

    def within(self, value: Any, p: Parameter, where: str) -> Value:
        limits = ((0.0, 1.0), (p.low, p.high), SLOPES)
        return tuple(tuple(in_range(n, *limits[at], where) for at, n in enumerate(point)) for point in value)

    def words(self, p: Parameter) -> str:
        return f"points, 0 to 1 across, {Kind.NUMBER.words(p)}"

    def between(self, start: Any, end: Any, share: float, travel: Travel) -> Value:
        return mean(start, end, share)

    def array(self, value: Any) -> NDArray[np.float64]:
        return np.asarray([point[:2] for point in value], np.float64)


class Choice(Kind, name="choice"):
    """One of the texts in `choices`."""

    wanted = "one of its choices"
    selects_code = True

    def check(self, value: Any, p: Parameter, where: str) -> Value:
        if isinstance(value, str) and value in p.choices:
            return value
        raise BadInput(f"{where} = {shown(value)} is not a choice{near_names(str(value), p.choices)}.")

    def words(self, p: Parameter) -> str:
        return " or ".join(p.choices)

    def options(self, p: Parameter) -> tuple[Value, ...]:
        return p.choices


class File(Kind, name="file"):
    """The path of a file, or nothing."""

    wanted = "the path of a file, or nothing"
    selects_code = is_file = True

    def chosen(self, value: Any, folder: Path) -> str:
        return str(folder / value) if value else ""


@dataclass(frozen=True, slots=True)
class Parameter:
    """One control of a node.

    `default` is neutral: with every parameter at its default a node changes nothing. `low`, `high` and `step`
    hold for each component; `choices` for kind CHOICE alone; `parts` name the three numbers of kind TRIPLE.
    `source` says where the range or the values come from; `acts_on` makes it one for those tones.
    """

    name: str
    sentence: str
    default: Value
    kind: Kind = Kind.NUMBER
    unit: str = ""
    low: float = 0.0
    high: float = 1.0
    step: float = 0.01
    choices: tuple[str, ...] = ()
    parts: tuple[str, ...] = CHANNELS
    travel: Travel = Travel.LINEAR
    source: str = "common practice, no source"
    acts_on: TonalRange | None = None

    def check(self, value: Any, where: str) -> Value:
        """Return `value` in this parameter's form, or raise BadInput that names `where`."""
        return self.kind.check(value, self, where)

    def within(self, number: float) -> float:
        """Return the number in its range that is nearest to `number`."""
        return min(max(float(number), self.low), self.high)

    @property
    def span(self) -> float:
        """How far it is from one end of its range to the other, as it travels."""
        return self.travel.position(self.high) - self.travel.position(self.low)

    def parse(self, text: str, where: str) -> Value:
        """Return the value that a person typed, or raise BadInput that names `where`."""
        return self.check(self.kind.parse(text, where), where)

    def between(self, start: Value, end: Value, share: float) -> Value:
        """Return the value at `share` of the way from `start` (0) to `end` (1)."""
        if 0 < share < 1 and start != end and self.travel is not Travel.STEP:
            return self.kind.between(start, end, share, self.travel)
        return end if share >= 1 else start
