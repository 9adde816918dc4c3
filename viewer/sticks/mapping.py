"""Which stick moves which control: data that a person can change, and no code.

A stick is two axes that push a control about the plane of a balance pad, or one axis that is a lever. Another
set of controls lies under the same hand while a button is held.
"""

from __future__ import annotations

from typing import Annotated, Final, Literal, TypeVar

import msgspec

from lamphouse.graph.files.json_document import read_document, write_document
from lamphouse.graph.files.record import Record, gather, spread
from lamphouse.graph.reel.presets import read_preset
from lamphouse.graph.reel.upgrade import to_sticks_2
from lamphouse.nodes.errors import BadInput, clause

FOLDER: Final = "sticks"
FIRST: Final = "sticks/1"  # also where a file has no label

Number = Annotated[int, msgspec.Meta(ge=0)]  # of an axis or a button
By = Literal["rate", "travel"]
Device = Literal["joysticks", "gamepad"]
Source = tuple[Literal["axis", "button"], int]


class Move(Record, frozen=True, kw_only=True):
    """What moves one control: two axes (across, up), one axis, or two buttons (less, more).

    By `rate`, `amounts` are what full deflection adds in a second, for what springs back; by `travel`, what
    one unit of the axis adds (from end to end is two), for what stays where it is put. A minus turns an axis
    round. `rest` is where the axis stands when nobody touches it, -1 for the triggers of gamepads. With
    `held` the move works while that button is down, and those of the same axes or buttons without it do not.
    """

    control: str
    axes: tuple[Number, ...] = ()
    buttons: tuple[Number, ...] = ()
    amounts: tuple[float, ...]
    by: By = "rate"
    rest: float = 0.0
    held: Number | None = None

    def __post_init__(self) -> None:
        if (len(self.axes), len(self.buttons)) not in ((1, 0), (2, 0), (0, 2)):
            raise BadInput(f"{self.control} needs one axis, two axes, or two buttons.")
        if len(self.amounts) != (len(self.axes) or 1):
            raise BadInput(f"{self.control} needs an amount for each axis, or one for its buttons.")
        if self.buttons and self.by == "travel":
            raise BadInput(f"{self.control} cannot follow the travel of buttons; give it a rate.")
        if not -1 <= self.rest <= 1:
            raise BadInput(f"{self.control} cannot rest at {self.rest:g}; an axis goes from -1 to 1.")

    @property
    def sources(self) -> frozenset[Source]:
        """The axes and buttons that this move listens to."""
        return frozenset([*(("axis", n) for n in self.axes), *(("button", n) for n in self.buttons)])


class Press(Record, frozen=True, kw_only=True):
    """A button that does `action` once when it goes down."""

    button: Number
    action: str


Row = TypeVar("Row")


class StickMap(Record, frozen=True, kw_only=True):
    """A whole mapping. Axes and buttons are numbered as `poll` gives them.

    `dead_zone` is the deflection, of 1, that still counts as rest; `sensitivity` multiplies every amount; the
    button `fine`, while held, makes it a tenth.
    """

    record: str = "sticks/2"
    sentence: str = ""
    device: Device
    dead_zone: float = 0.1
    sensitivity: float = 1.0
    fine: Number | None = None
    moves: tuple[Move, ...] = ()
    presses: tuple[Press, ...] = ()

    def __post_init__(self) -> None:
        if not 0 <= self.dead_zone < 1:
            raise BadInput(f"A dead zone of {self.dead_zone:g} leaves nothing; give 0 to under 1.")
        if self.sensitivity <= 0:
            raise BadInput(f"A sensitivity of {self.sensitivity:g} moves nothing; give more than 0.")
        self._check_buttons()
        self._check_controls()

    def _check_buttons(self) -> None:
        held = {move.held for move in self.moves if move.held is not None}
        moving = {button for move in self.moves for button in move.buttons}
        fine = set() if self.fine is None else {self.fine}
        for button in sorted((held & moving) | (fine & (held | moving))):
            raise BadInput(f"Button {button} has to be held and to do something else; choose one.")
        for press in self.presses:
            if press.button in held | moving | fine:
                raise BadInput(
                    f"Button {press.button} has to do {press.action} and something else; choose one."
                )

    def _check_controls(self) -> None:
        sizes = {move.control: len(move.amounts) for move in self.moves}
        for move in self.moves:
            if len(move.amounts) != sizes[move.control]:
                raise BadInput(f"{move.control} is moved both on a plane and along a line; choose one.")


def stick_map(name: str) -> StickMap:
    """Return the mapping among the presets of that name, or raise BadInput with near names."""
    return read_preset(FOLDER, name, StickMap)


def decode_stick_map(data: bytes, where: str) -> StickMap:
    """Return the mapping in a person's own file. Raises BadInput that says `where` and what is wrong."""
    document = read_document(data, where, "a mapping of joysticks")
    if isinstance(document, dict) and document.get("record", FIRST) == FIRST:
        document = to_sticks_2(document)
    try:
        return gather(document, StickMap)
    except BadInput as error:
        raise BadInput(f"{where}: {clause(error)}.") from error


def encode_stick_map(mapping: StickMap) -> bytes:
    """Return the text of a mapping as its file has it, with what was in it that has no name here."""
    return write_document(spread(mapping), "the mapping")


def with_move(mapping: StickMap, move: Move, row: int | None = None) -> StickMap:
    """Return `mapping` with `move` for its axes and buttons, in place of what they moved so far.

    It takes the place of the move at `row`, or comes last. What its axes and buttons move while another
    button is held stays. Raises BadInput where a button would have two tasks.
    """
    moves = _placed(mapping.moves, move, row)
    kept = (m for m in moves if m is move or m.held != move.held or m.sources.isdisjoint(move.sources))
    return msgspec.structs.replace(mapping, moves=tuple(kept))


def with_press(mapping: StickMap, press: Press, row: int | None = None) -> StickMap:
    """Return `mapping` with `press` in place of what its button did; otherwise as `with_move`."""
    presses = _placed(mapping.presses, press, row)
    kept = (p for p in presses if p is press or p.button != press.button)
    return msgspec.structs.replace(mapping, presses=tuple(kept))


def _placed(rows: tuple[Row, ...], new: Row, row: int | None) -> list[Row]:
    return [*rows, new] if row is None else [*rows[:row], new, *rows[row + 1 :]]
