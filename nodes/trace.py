"""Expressions: what a node's maths becomes when it is given names instead of numbers.

A body of maths is one Python function over the primitives of `lamphouse.nodes.maths`.
Called with arrays it computes; called with expressions it builds the graph below,
which every back end reads. So no correction is written twice.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.primitive import COLOUR, PRIMITIVES, Form, Primitive

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

INPUT = "input"  # a value that is known once a frame: a parameter, or what is derived from it
PICTURE = "picture"  # the pixels of one source
CONSTANT = "constant"
PLACE = "place"  # where in the picture a pixel lies
CALL = "call"  # a plain function of arrays, which no back end can look into


@dataclass(frozen=True, eq=False, slots=True)
class Expression:
    """One step of a computation: a primitive and its arguments, or a leaf.

    `per_pixel` says whether the value differs from pixel to pixel; all else is
    known once a frame. `channels` are those of the value, 1 or 3; whatever is no value has 3.
    Leaves carry `name` (inputs, pictures, place) or `value` (constants); a call carries its `function`,
    how many of its arguments are `pictures`, whatever has become of them, and whether it needs `whole`
    ones or takes any pixels.
    """

    primitive: str
    arguments: tuple[Expression, ...] = ()
    name: str = ""
    value: NDArray[Any] | None = None
    per_pixel: bool = False
    channels: int = COLOUR
    function: Callable[..., Any] | None = None
    pictures: int = 0
    whole: bool = False

    # Makes `array * expression` build an expression instead of an array of objects.
    __array_ufunc__: ClassVar[None] = None

    @property
    def signature(self) -> Primitive | None:
        """What its primitive says of itself; nothing for a leaf or a call."""
        return PRIMITIVES.get(self.primitive)

    def over(self, arguments: tuple[Expression, ...]) -> Expression:
        """Return this step over other arguments."""
        if all(one is other for one, other in zip(arguments, self.arguments, strict=True)):
            return self
        return (
            replace(self, arguments=arguments)
            if self.primitive == CALL
            else build(self.primitive, *arguments)
        )

    def __add__(self, other: Any) -> Expression:
        return build("add", self, other)

    def __radd__(self, other: Any) -> Expression:
        return build("add", other, self)

    def __sub__(self, other: Any) -> Expression:
        return build("subtract", self, other)

    def __rsub__(self, other: Any) -> Expression:
        return build("subtract", other, self)

    def __mul__(self, other: Any) -> Expression:
        return build("multiply", self, other)

    def __rmul__(self, other: Any) -> Expression:
        return build("multiply", other, self)

    def __truediv__(self, other: Any) -> Expression:
        return build("divide", self, other)

    def __rtruediv__(self, other: Any) -> Expression:
        return build("divide", other, self)

    def __neg__(self) -> Expression:
        return build("multiply", self, -1.0)

    def __bool__(self) -> bool:
        raise TypeError("A body of maths cannot branch on a value: use select().")


def constant(value: Any) -> Expression:
    """Return a leaf that holds `value`; a bare number becomes a (1, 1) array."""
    array = np.asarray(value, np.float64)
    array = array.reshape(1, 1) if array.ndim == 0 else array
    return Expression(CONSTANT, value=array, channels=channels_of(array.shape))


def frame_input(name: str, channels: int = 1) -> Expression:
    """Return a leaf for a value that is given once a frame under `name`."""
    return Expression(INPUT, name=name, channels=channels)


def channels_of(shape: tuple[int, ...]) -> int:
    """Return the channels of a value of that shape: one for a row of numbers, else three."""
    return 1 if shape[0] == 1 else COLOUR


def picture(name: str) -> Expression:
    """Return a leaf for the pixels of the source `name`."""
    return Expression(PICTURE, name=name, per_pixel=True)


@dataclass(frozen=True, slots=True)
class Place:
    """Where a pixel lies, (1, n), in picture heights from the centre: `x` to the right, `y` down."""

    x: Any
    y: Any

    @property
    def across(self) -> Any:
        """`x` by its name in older plug-ins."""
        return self.x

    @property
    def down(self) -> Any:
        """`y` by its name in older plug-ins."""
        return self.y


def place() -> Place:
    """Return the leaves for where in the picture a pixel lies."""
    return Place(*(Expression(PLACE, name=name, per_pixel=True, channels=1) for name in ("across", "down")))


def call(
    function: Callable[..., Any],
    name: str,
    *pictures: Expression,
    numbers: Sequence[Expression] = (),
    whole: bool,
) -> Expression:
    """Return the expression of a plain function over planar pictures and then numbers of the frame.

    `name` is for messages.
    """
    arguments = (*pictures, *numbers)
    return Expression(
        CALL, arguments, name, per_pixel=True, function=function, pictures=len(pictures), whole=whole
    )


def build(primitive: str, *arguments: Any) -> Expression:
    """Return the expression of a primitive over expressions, arrays and bare numbers.

    Raises TypeError where it takes no such arguments.
    """
    parts = tuple(a if isinstance(a, Expression) else constant(a) for a in arguments)
    per_pixel = any(part.per_pixel for part in parts)
    signature = PRIMITIVES[primitive]
    _check(signature, parts, per_pixel)
    channels = signature.channels([part.channels for part in parts])
    return Expression(primitive, parts, per_pixel=per_pixel, channels=channels)


def _check(signature: Primitive, parts: tuple[Expression, ...], per_pixel: bool) -> None:
    if len(parts) != len(signature.takes):
        named = ", ".join(signature.names)
        raise TypeError(f"{signature.name} takes ({named}), and is given {len(parts)} arguments.")
    for name, form, part in zip(signature.names, signature.takes, parts, strict=True):
        if fault := _fault(form, part, per_pixel):
            raise TypeError(f"The {name} of {signature.name} {fault}.")


def _fault(form: Form, part: Expression, per_pixel: bool) -> str:
    """Return why `part` is not of that form. What no pixel is in may be reckoned with in any shape."""
    if form.is_array and part.per_pixel:
        return "must be known once a frame, and differs from pixel to pixel"
    if form is Form.NUMBER and part.channels > 1:
        return "must be one number, and has three channels"
    if part.value is None or not (per_pixel or form.is_array) or form.fits(part.value.shape):
        return ""
    return f"must be of the form {form}, and an array of shape {part.value.shape} is not"


def walk(root: Expression) -> Iterator[Expression]:
    """Yield every expression below and including `root` once, arguments before what uses them."""
    done: set[int] = set()
    stack: list[tuple[Expression, bool]] = [(root, False)]
    while stack:
        expression, ready = stack.pop()
        if id(expression) in done:
            continue
        if ready:
            done.add(id(expression))
            yield expression
        else:
            stack.append((expression, True))
            stack.extend((a, False) for a in reversed(expression.arguments))


def rebuilt(
    root: Expression, made_of: Callable[[Expression, tuple[Expression, ...]], Expression]
) -> Expression:
    """Return `root` with `made_of(step, arguments)` for every step, arguments before what uses them.

    `arguments` are what has been made of the step's own.
    """
    done: dict[int, Expression] = {}
    for step in walk(root):
        done[id(step)] = made_of(step, tuple([done[id(a)] for a in step.arguments]))
    return done[id(root)]
