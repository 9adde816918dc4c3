"""Algebra on a program whose numbers are known: what is neutral goes, neighbours join.

Each rule is one row with its algebra beside it. In the patterns x and y stand for any picture,
a and b for constants. A row may be used only where its condition on the constants holds.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.maths import (
    antilog,
    clamp,
    curve,
    join,
    log,
    matrix,
    mix,
    multiply,
    offset,
    power,
    power_above_zero,
    scale,
    toe_antilog,
    toe_log,
    toe_power,
    toe_root,
)
from lamphouse.nodes.primitive import COLOUR, PRIMITIVES
from lamphouse.nodes.trace import CONSTANT, INPUT, Expression, constant, rebuilt, walk

PLACEHOLDER: Final = "placeholder"
LARGE: Final = 4096  # numbers in a constant
Array = NDArray[Any]


def _any(name: str) -> Expression:
    return Expression(PLACEHOLDER, name=name, per_pixel=True)


def _known(name: str) -> Expression:
    return Expression(PLACEHOLDER, name=name)


X, Y, K = _any("x"), _any("y"), _any("k")
PICTURES: Final = (X.name, Y.name, K.name)
A, B = _known("a"), _known("b")
E, T, S, J = _known("e"), _known("t"), _known("s"), _known("j")


def _always(**_: Array) -> bool:
    return True


@dataclass(frozen=True, slots=True)
class Row:
    """`pattern` may be written as `result`, which is built from what the placeholders matched."""

    algebra: str
    pattern: Expression
    result: Callable[..., Expression]
    condition: Callable[..., bool] = _always

    def holds(self, found: Mapping[str, Expression]) -> bool:
        """Say whether the condition on the constants among `found` is met."""
        return self.condition(**{name: e.value for name, e in found.items() if name not in PICTURES})

    def rewritten(self, found: Mapping[str, Expression]) -> Expression:
        """Return the result over what the placeholders matched."""
        parts = {name: e if name in PICTURES else e.value for name, e in found.items()}
        return self.result(**parts)


def _all(value: Array, number: float) -> bool:
    return bool(np.all(value == number))


def _is_identity(a: Array) -> bool:
    # A matrix and its inverse miss it by the rounding of float64.
    return np.allclose(a, np.eye(3), rtol=0, atol=1e-12)


def _is_straight(a: Array, b: Array) -> bool:
    return np.array_equal(a, np.broadcast_to(np.linspace(0, 1, a.shape[1]), a.shape)) and _all(b, 1)


def _undoes(*, e: Array, t: Array, a: Array, b: Array, s: Array, j: Array) -> bool:
    same_straight = np.allclose(s * a, 1, rtol=1e-12, atol=0) and np.allclose(j, a * b, rtol=1e-5, atol=0)
    # The two parts of a curve must meet; those of BT.709 miss by 0.3 per cent of what is there next to black.
    light, encoded = np.minimum(b, j), np.maximum(b, j)
    return same_straight and np.allclose(((encoded + t) / (1 + t)) ** e, light, rtol=5e-3, atol=0)


def _column(value: Array) -> Array:
    return np.broadcast_to(value, (3, 1))


ROWS: Final = (
    Row("x * 1 = x", scale(X, A), lambda x, a: x, lambda a: _all(a, 1)),
    Row("x + 0 = x", offset(X, A), lambda x, a: x, lambda a: _all(a, 0)),
    Row("I x = x", matrix(X, A), lambda x, a: x, _is_identity),
    Row("x 1 = x, of plain numbers", multiply(X, A), lambda x, a: x, lambda a: _all(a, 1)),
    Row("x 0 = 0", multiply(X, A), lambda x, a: constant(0.0), lambda a: _all(a, 0)),
    Row("x ** 1 = x", power(X, A), lambda x, a: x, lambda a: _all(a, 1)),
    Row("x ** 1 = x above zero, x below", power_above_zero(X, A), lambda x, a: x, lambda a: _all(a, 1)),
    Row("a straight curve is x", curve(X, A, B), lambda x, a, b: x, _is_straight),
    Row("all of x, none of y", mix(X, Y, A), lambda x, y, a: x, lambda a: _all(a, 0)),
    Row("none of x, all of y", mix(X, Y, A), lambda x, y, a: y, lambda a: _all(a, 1)),
    Row("x with itself", mix(X, X, K), lambda x, k: x),
    Row("(x a) b = x (a b)", scale(scale(X, A), B), lambda x, a, b: scale(x, a * b)),
    Row("(x + a) + b = x + (a + b)", offset(offset(X, A), B), lambda x, a, b: offset(x, a + b)),
    Row("(x + a) b = x b + a b", scale(offset(X, A), B), lambda x, a, b: offset(scale(x, b), a * b)),
    Row("B (A x) = (B A) x", matrix(matrix(X, A), B), lambda x, a, b: matrix(x, b @ a)),
    Row("B (x a) = (B diag a) x", matrix(scale(X, A), B), lambda x, a, b: matrix(x, b * _column(a).T)),
    Row("(A x) b = (diag b A) x", scale(matrix(X, A), B), lambda x, a, b: matrix(x, _column(b) * a)),
    Row(
        "B (x + a) = B x + B a",
        matrix(offset(X, A), B),
        lambda x, a, b: offset(matrix(x, b), b @ _column(a)),
    ),
    Row(
        "(x ** a) ** b = x ** (a b), mirrored, above zero",
        power(power(X, A), B),
        lambda x, a, b: power(x, a * b),
        lambda a, b: bool((a > 0).all() and (b > 0).all()),  # elsewhere black is held at the largest number
    ),
    Row("log10 10 ** x = x, down to the floor of log", log(antilog(X)), lambda x: x),
    Row("a toe's log of its antilog is x", toe_log(toe_antilog(X, A), A), lambda x, a: x),
    Row("a toe's antilog of its log is x", toe_antilog(toe_log(X, A), A), lambda x, a: x),
    Row(
        "a toe's root of its power is x",
        toe_root(toe_power(X, E, T, A, B), E, T, S, J),
        lambda x, **_: x,
        _undoes,
    ),
    Row(
        "a toe's power of its root is x",
        toe_power(toe_root(X, E, T, A, B), E, T, S, J),
        lambda x, **_: x,
        _undoes,
    ),
    Row(
        "clamping again changes nothing",
        clamp(clamp(X, A, B), A, B),
        lambda x, **ab: clamp(x, ab["a"], ab["b"]),
    ),
)


def bind(expression: Expression, numbers: Mapping[str, Array]) -> Expression:
    """Return `expression` with `numbers` for its frame inputs, rewritten until no row applies.

    Arithmetic on constants alone is done here, in float64. Equal steps become one.
    Raises KeyError for a frame input without a number.
    """
    for step in walk(expression):
        if step.primitive == INPUT and step.name not in numbers:
            raise KeyError(step.name)
    return simplify(expression, numbers)


def simplify(expression: Expression, numbers: Mapping[str, Array]) -> Expression:
    """Return `expression` bound as by `bind`, but for the frame inputs that have no number: they stay."""
    with np.errstate(all="ignore"):
        return _Rewriter(numbers).rewrite(expression)


class _Rewriter:
    def __init__(self, numbers: Mapping[str, Array]) -> None:
        self._numbers = numbers
        self._seen: dict[Any, Expression] = {}

    def rewrite(self, root: Expression) -> Expression:
        return rebuilt(root, self._settle)

    def _settle(self, step: Expression, arguments: tuple[Expression, ...]) -> Expression:
        if step.primitive == INPUT and step.name in self._numbers:
            return self._one(constant(self._numbers[step.name]))
        if step.primitive in PRIMITIVES and all(a.primitive == CONSTANT for a in arguments):
            return self._one(constant(PRIMITIVES[step.primitive].compute(*[a.value for a in arguments])))
        step = step.over(arguments)
        for row in ROWS:
            found: dict[str, Expression] = {}
            if _matches(row.pattern, step, found) and row.holds(found):
                return self.rewrite(_as_wide(row.rewritten(found), step))
        return self._one(step)

    def _one(self, step: Expression) -> Expression:
        key = (
            step.primitive,
            tuple(id(a) for a in step.arguments),
            step.name,
            _identity(step.value),
            step.function,
        )
        return self._seen.setdefault(key, step)


def _as_wide(result: Expression, step: Expression) -> Expression:
    """Return the `result` of a row in as many channels as the `step` that it stands for.

    A number that goes may have been what made a colour of one channel.
    """
    if result.channels == step.channels:
        return result
    if result.value is not None:
        return constant(np.broadcast_to(result.value, (COLOUR, 1)))
    wide: Expression = join(result, result, result)
    return wide


def _identity(value: Array | None) -> Any:
    """Return what is equal for equal constants. A table is told by its identity: reading it is slow."""
    if value is None or value.size > LARGE:
        return id(value)
    return (value.shape, value.tobytes())


def _matches(pattern: Expression, step: Expression, found: dict[str, Expression]) -> bool:
    if pattern.primitive == PLACEHOLDER:
        if not pattern.per_pixel and step.primitive != CONSTANT:
            return False
        return _same(found.setdefault(pattern.name, step), step)
    return (
        pattern.primitive == step.primitive
        and len(pattern.arguments) == len(step.arguments)
        and all(_matches(p, s, found) for p, s in zip(pattern.arguments, step.arguments, strict=True))
    )


def _same(one: Expression, other: Expression) -> bool:
    if one is other:
        return True
    return one.value is not None and other.value is not None and np.array_equal(one.value, other.value)
