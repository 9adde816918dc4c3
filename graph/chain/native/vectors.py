"""Arithmetic on vectors of float32 pixels, as LLVM instructions.

Library powers and logarithms take one number at a time; the polynomials here take a vector. Nothing may be
reordered or contracted, what is one rounding is written as one, and no pixel depends on its lane: a picture
comes out the same on every processor, however it is shared out among threads.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache, reduce
from typing import Any, Final

import numpy as np
from llvmlite import ir

LANES: Final = 16  # pixels at a time: one AVX-512 register, two of AVX2, four of NEON

BYTE: Final = ir.IntType(8)
FLOAT: Final = ir.FloatType()
INT: Final = ir.IntType(32)
LONG: Final = ir.IntType(64)
FLOATS: Final = ir.VectorType(FLOAT, LANES)
HALF_FLOATS: Final = ir.VectorType(FLOAT, LANES // 2)
INTS: Final = ir.VectorType(INT, LANES)

# IEEE 754 single precision.
_FRACTION_BITS: Final = 23
_SIGN: Final = -(2**31)
_SIZE: Final = 2**31 - 1
_LEAST: Final = 1.1754944e-38
_ROOT_HALF_BITS: Final = 0x3F3504F3  # of the square root of a half: a mantissa is taken about 1
_EXPONENTS: Final = 126.0
_UPPER_BITS: Final = -(2**12)  # leaves 12 bits of a number, which times a whole of 8 bits is exact

Vector = Any  # an LLVM value of type FLOATS


def floats(value: float) -> ir.Constant:
    """Return `value` in every lane."""
    return ir.Constant(FLOATS, [float(np.float32(value))] * LANES)


def ints(value: int) -> ir.Constant:
    """Return `value` in every lane."""
    return ir.Constant(INTS, [value] * LANES)


class Vectors:
    """Instructions on vectors, written where `builder` stands."""

    def __init__(self, builder: ir.IRBuilder) -> None:
        self.builder = builder

    def add(self, a: Vector, b: Vector) -> Vector:
        """a + b."""
        return self.builder.fadd(a, b)

    def subtract(self, a: Vector, b: Vector) -> Vector:
        """a - b."""
        return self.builder.fsub(a, b)

    def multiply(self, a: Vector, b: Vector) -> Vector:
        """a * b."""
        return self.builder.fmul(a, b)

    def divide(self, a: Vector, b: Vector) -> Vector:
        """a / b."""
        return self.builder.fdiv(a, b)

    def multiply_add(self, a: Vector, b: Vector, c: Vector) -> Vector:
        """a * b + c, rounded once."""
        return self.builder.call(self._library("llvm.fma", 3), [a, b, c])

    def weighted(self, values: Sequence[Vector], by: Sequence[Vector]) -> Vector:
        """The sum of `values`, each times its weight, added in order."""
        parts = [self.multiply(value, weight) for value, weight in zip(values, by, strict=True)]
        return reduce(self.add, parts)

    def is_more(self, a: Vector, b: Vector) -> Vector:
        """Whether a > b, lane by lane; never where one is nan."""
        return self.builder.fcmp_ordered(">", a, b)

    def choose(self, condition: Vector, when: Vector, otherwise: Vector) -> Vector:
        """`when` in the lanes where the condition holds."""
        return self.builder.select(condition, when, otherwise)

    def maximum(self, a: Vector, b: Vector) -> Vector:
        """The greater of a and b; b where a is nan."""
        return self.choose(self.is_more(a, b), a, b)

    def minimum(self, a: Vector, b: Vector) -> Vector:
        """The lesser of a and b; b where a is nan."""
        return self.choose(self.is_more(b, a), a, b)

    def clamped(self, a: Vector, low: float, high: float) -> Vector:
        """a between low and high; low where a is nan."""
        return self.minimum(self.maximum(a, floats(low)), floats(high))

    def square_root(self, a: Vector) -> Vector:
        """The square root of a, of no less than zero."""
        return self.builder.call(self._library("llvm.sqrt", 1), [self.maximum(a, floats(0.0))])

    def to_integers(self, a: Vector) -> Vector:
        """a without its fraction, as integers; a must lie within 32 bits."""
        return self.builder.fptosi(a, INTS)

    def from_integers(self, a: Vector) -> Vector:
        """Integers as floats."""
        return self.builder.sitofp(a, FLOATS)

    def absolute(self, a: Vector) -> Vector:
        """|a|."""
        return self._as_floats(self.builder.and_(self._as_ints(a), ints(_SIZE)))

    def with_sign_of(self, size: Vector, a: Vector) -> Vector:
        """`size`, which is not negative, with the sign of a."""
        sign = self.builder.and_(self._as_ints(a), ints(_SIGN))
        return self._as_floats(self.builder.or_(self._as_ints(size), sign))

    def log2(self, a: Vector) -> Vector:
        """The logarithm of a to the base 2, of no less than the smallest normal number."""
        exponent, fraction = self._log2_parts(a)
        return self.add(fraction, exponent)

    def exp2(self, a: Vector) -> Vector:
        """2 ** a, for a between -126 and 126 and clamped there beyond."""
        clamped = self.clamped(a, -_EXPONENTS, _EXPONENTS)
        nearest = self._nearest(clamped)
        return self._two_to(nearest, self.subtract(clamped, self.from_integers(nearest)))

    def power(self, size: Vector, exponent: Vector) -> Vector:
        """size ** exponent, for a size that is not negative; clamped between 2 ** -126 and 2 ** 126.

        Of zero it is 0, 1 or 2 ** 126, as the exponent lies above, at or below 0. The whole part of the
        logarithm times the upper bits of the exponent is exact, so that a large product keeps its fraction.
        """
        integer, fraction = self._log2_parts(size)
        upper = self._as_floats(self.builder.and_(self._as_ints(exponent), ints(_UPPER_BITS)))
        large = self.multiply(upper, integer)
        lower = self.multiply(self.subtract(exponent, upper), integer)
        small = self.multiply_add(exponent, fraction, lower)
        nearest = self._nearest(self.clamped(self.add(large, small), -_EXPONENTS, _EXPONENTS))
        rest = self.add(self.subtract(large, self.from_integers(nearest)), small)
        raised = self._two_to(nearest, self.clamped(rest, -1.0, 1.0))
        return self.choose(self.is_more(size, floats(0.0)), raised, self._zero_to(exponent))

    def _zero_to(self, exponent: Vector) -> Vector:
        below = self.choose(self.is_more(floats(0.0), exponent), floats(2.0**_EXPONENTS), floats(1.0))
        return self.choose(self.is_more(exponent, floats(0.0)), floats(0.0), below)

    def _log2_parts(self, a: Vector) -> tuple[Vector, Vector]:
        """Return a whole number and a fraction about zero, as floats, whose sum is log2 of a."""
        build = self.builder
        bits = self._as_ints(self.maximum(a, floats(_LEAST)))
        exponent = build.ashr(build.sub(bits, ints(_ROOT_HALF_BITS)), ints(_FRACTION_BITS))
        mantissa = self._as_floats(build.sub(bits, build.shl(exponent, ints(_FRACTION_BITS))))
        beyond_one = self.subtract(mantissa, floats(1.0))
        fraction = self.multiply(self._polynomial(beyond_one, _log2_terms()), beyond_one)
        return self.from_integers(exponent), fraction

    def _nearest(self, a: Vector) -> Vector:
        # The offset makes what is cut off positive, so that cutting is rounding to the nearest.
        offset = self.to_integers(self.add(a, floats(_EXPONENTS + 1.5)))
        return self.builder.sub(offset, ints(int(_EXPONENTS) + 1))

    def _two_to(self, integer: Vector, fraction: Vector) -> Vector:
        bits = self._as_ints(self._polynomial(fraction, _exp2_terms()))
        return self._as_floats(self.builder.add(bits, self.builder.shl(integer, ints(_FRACTION_BITS))))

    def splat(self, number: Any, kind: Any = FLOATS) -> Vector:
        """One number in every lane."""
        nothing = ir.Constant(kind, ir.Undefined)
        first = self.builder.insert_element(nothing, number, ir.Constant(INT, 0))
        return self.builder.shuffle_vector(first, nothing, ints(0))

    def _polynomial(self, a: Vector, terms: tuple[float, ...]) -> Vector:
        result = floats(terms[-1])
        for term in reversed(terms[:-1]):
            result = self.multiply_add(result, a, floats(term))
        return result

    def _library(self, name: str, arguments: int) -> Any:
        full = f"{name}.v{LANES}f32"
        found = self.builder.module.globals.get(full)
        kind = ir.FunctionType(FLOATS, [FLOATS] * arguments)
        return found or ir.Function(self.builder.module, kind, full)

    def _as_ints(self, a: Vector) -> Vector:
        return self.builder.bitcast(a, INTS)

    def _as_floats(self, a: Vector) -> Vector:
        return self.builder.bitcast(a, FLOATS)


@lru_cache(maxsize=1)
def _log2_terms() -> tuple[float, ...]:
    """Return terms of log2(1 + t) / t between the roots of a half and of two, to half a float32 step."""
    x = _chebyshev_places(2**-0.5 - 1, 2**0.5 - 1)
    return _fit(x, np.log2(1 + x) / x, 9)


@lru_cache(maxsize=1)
def _exp2_terms() -> tuple[float, ...]:
    """Return terms of 2 ** t between -1/2 and 1/2."""
    x = _chebyshev_places(-0.5, 0.5)
    return _fit(x, 2**x, 6)


def _chebyshev_places(low: float, high: float) -> Any:
    # Least squares at these is within a whisker of the best polynomial there is; none of them is zero.
    return (low + high) / 2 + (high - low) / 2 * np.cos(np.pi * (np.arange(4000) + 0.5) / 4000)


def _fit(x: Any, y: Any, degree: int) -> tuple[float, ...]:
    fitted = np.polynomial.Chebyshev.fit(x, y, degree)
    return tuple(fitted.convert(kind=np.polynomial.Polynomial).coef.tolist())
