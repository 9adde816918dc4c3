"""What a primitive says of itself: all that back ends, rewriting and hand-over have to know of it.

A channel is a number a pixel. Wherever a colour is wanted, one number stands for three equal ones.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import wraps
from typing import Annotated, Any, Final, TypeVar, get_type_hints

import numpy as np

COLOUR: Final = 3  # channels

Emitted = TypeVar("Emitted")


class Form(StrEnum):
    """What an argument or a result is; n is 1 where it is known once a frame."""

    VALUE = "value"  # a number or a colour, (1, n) or (3, n)
    NUMBER = "number"  # (1, n)
    COLOUR = "colour"  # (3, n)
    MATRIX = "matrix"  # (3, 3)
    ENDS = "ends"  # slopes beyond a table, (3, 2)
    TABLE = "table"  # (3, size)
    LATTICE = "lattice"  # (size, size, size, 3), by red, green, blue

    @property
    def is_array(self) -> bool:
        """Whether it is known once a frame, and the same for every pixel."""
        return self in (Form.MATRIX, Form.ENDS, *IN_MEMORY)

    def fits(self, shape: tuple[int, ...]) -> bool:
        """Whether an array of that shape is one."""
        match self:
            case Form.MATRIX | Form.ENDS:
                return shape == (3, 3 if self is Form.MATRIX else 2)
            case Form.TABLE:
                return len(shape) == 2 and shape[0] == COLOUR and shape[1] > 1
            case Form.LATTICE:
                return len(shape) == 4 and shape == (shape[0],) * 3 + (COLOUR,) and shape[0] > 1
        return len(shape) == 2 and shape[0] in ((1,) if self is Form.NUMBER else (1, COLOUR))


IN_MEMORY: Final = (Form.TABLE, Form.LATTICE)  # too large to be handed over number by number

# What the definition of a primitive is annotated with.
Value = Annotated[Any, Form.VALUE]
Number = Annotated[Any, Form.NUMBER]
Colour = Annotated[Any, Form.COLOUR]
Matrix = Annotated[Any, Form.MATRIX]
Ends = Annotated[Any, Form.ENDS]
Table = Annotated[Any, Form.TABLE]
Lattice = Annotated[Any, Form.LATTICE]


@dataclass(frozen=True, slots=True)
class Primitive:
    """A primitive: its one-line meaning, its NumPy definition and its signature.

    It `takes` arguments of those `names`, and gives a NUMBER, a COLOUR, or a VALUE: as many channels as the
    widest that it takes. It `mixes` where a channel of the result depends on another channel. Each set in
    `straight` is of arguments in which it is straight (affine) together, while all others are constants.
    """

    name: str
    meaning: str
    compute: Callable[..., Any]
    names: tuple[str, ...]
    takes: tuple[Form, ...]
    gives: Form
    mixes: bool
    is_costly: bool
    straight: tuple[frozenset[int], ...]

    def channels(self, of_arguments: Sequence[int]) -> int:
        """Return the channels that it gives of arguments with those channels."""
        if self.gives is Form.VALUE:
            return max(n for n, form in zip(of_arguments, self.takes, strict=True) if form is Form.VALUE)
        return COLOUR if self.gives is Form.COLOUR else 1

    def is_straight(self, varying: Collection[int]) -> bool:
        """Whether it is straight in the arguments at the places `varying`, the others being constants."""
        return any(together.issuperset(varying) for together in self.straight)


PRIMITIVES: Final[dict[str, Primitive]] = {}  # filled by nodes/maths.py and by nothing else


def register(
    definition: Callable[..., Any], *, mixes: bool, is_costly: bool, straight: Sequence[str]
) -> Primitive:
    """Return the primitive of an annotated `definition`, which is known by its name from then on.

    Each of `straight` names arguments in which it is straight together, with blanks between them.
    """
    names = tuple(inspect.signature(definition).parameters)
    forms = get_type_hints(definition, include_extras=True)
    takes = tuple(forms[name].__metadata__[0] for name in names)
    primitive = Primitive(
        definition.__name__,
        (definition.__doc__ or "").strip(),
        _widening(definition, takes),
        names,
        takes,
        forms["return"].__metadata__[0],
        mixes,
        is_costly,
        tuple(frozenset(map(names.index, together.split())) for together in straight),
    )
    PRIMITIVES[primitive.name] = primitive
    return primitive


def of_every_primitive(table: Mapping[str, Emitted], where: str) -> Mapping[str, Emitted]:
    """Return a back end's `table` by primitive; raise LookupError where names differ."""
    if wrong := sorted(table.keys() ^ PRIMITIVES.keys()):
        raise LookupError(f"{where} and the primitives of nodes/maths.py differ in {', '.join(wrong)}.")
    return table


def _widening(definition: Callable[..., Any], takes: tuple[Form, ...]) -> Callable[..., Any]:
    """Return `definition` given three channels wherever it takes a colour."""
    if Form.COLOUR not in takes:
        return definition

    @wraps(definition)
    def compute(*arguments: Any) -> Any:
        return definition(
            *(_wide(a) if form is Form.COLOUR else a for a, form in zip(arguments, takes, strict=True))
        )

    return compute


def _wide(array: Any) -> Any:
    shape = np.shape(array)
    return np.broadcast_to(array, (COLOUR, *shape[1:])) if shape[:1] == (1,) else array
