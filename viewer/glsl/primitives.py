"""Each primitive as a function in GLSL 330, in the order of operations of its NumPy definition.

A body is written once, in T: a number a pixel or a colour. B is the truth of a comparison of two such.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from lamphouse.nodes.maths import HALF_BITS, HALF_SIGN, LARGEST, LARGEST_HALF, LN_10, less, log, select
from lamphouse.nodes.trace import Expression

ROW: Final = 1024  # entries in a row of a table's texture: what every GL 3.3 can hold

# The smallest normal float32: a shader may take anything nearer zero for zero.
_LEAST: Final = 1.1754944e-38

# A half float's bits are those of a float32, shifted, less the difference of their exponents' biases.
_HALF_SHIFT: Final = 13
_HALF_BIAS: Final = (127 - 15) << 23
_HALF_NORMAL: Final = 1 << 10  # the bits of the smallest normal half float
_HALF_STEP: Final = 2.0**-24  # from one subnormal half float to the next


class Takes(StrEnum):
    """What an argument of a primitive is."""

    VALUE = "value"
    MATRIX = "matrix"  # (3, 3)
    ENDS = "ends"  # (3, 2)
    TABLE = "table"  # (3, size)
    LATTICE = "lattice"  # (size, size, size, 3)


@dataclass(frozen=True, slots=True)
class Emitter:
    """A primitive's function: its parameters, its body, what each argument is, and the type it gives.

    Its last arguments may be worked out of the others by `known`, so that what they share is done once a
    frame and not once a pixel. With `is_wide` it takes colours alone.
    """

    parameters: str
    body: str
    takes: tuple[Takes, ...]
    gives: str = "T"
    is_wide: bool = False
    known: tuple[Callable[..., Expression], ...] = ()

    def arguments(self, step: Expression) -> list[tuple[Expression, Takes]]:
        """Return what the function is called with for `step`, and what each is."""
        values = (*step.arguments, *(work_out(*step.arguments) for work_out in self.known))
        return list(zip(values, self.takes, strict=True))

    def function(self, name: str, type_: str) -> str:
        """Return the text of the function for values of `type_`, float or vec3."""
        text = f"{self.gives} {function_name(name)}({self.parameters}) {{ {self.body} }}"
        return in_type(text, type_)


def function_name(primitive: str) -> str:
    """Return what the function of a primitive is called; GLSL has a log, a mix and a clamp of its own."""
    return f"p_{primitive}"


def in_type(text: str, type_: str) -> str:
    """Return `text` with float or vec3 for T, and for B the truth of it."""
    truth = {"float": "bool", "vec3": "bvec3"}[type_]
    return re.sub(r"\bB\b", truth, re.sub(r"\bT\b", type_, text))


def _each(parameters: str, body: str, *known: Callable[..., Expression]) -> Emitter:
    """Return the emitter of a primitive that does the same to each channel."""
    names = parameters.split()
    listed = ", ".join(f"T {name}" for name in names)
    return Emitter(listed, body, (Takes.VALUE,) * len(names), known=known)


def _at_zero(exponent: Expression) -> Expression:
    """Return zero to the power of `exponent`, which GLSL leaves open."""
    value: Expression = select(less(0.0, exponent), 0.0, select(less(exponent, 0.0), LARGEST, 1.0))
    return value


def _channel(name: str) -> Emitter:
    return Emitter("vec3 rgb", f"return rgb.{name};", (Takes.VALUE,), "float", is_wide=True)


def _of_table(parameters: str, body: str, *takes: Takes) -> Emitter:
    return Emitter(parameters, body, (Takes.VALUE, *takes), "vec3", is_wide=True)


# What the bodies below are written over. Where a power would be infinite it is held at LARGEST.
_CHOICE: Final = """
bool is_less(float a, float b) { return a < b; }
bvec3 is_less(vec3 a, vec3 b) { return lessThan(a, b); }
bool differs(float a, float b) { return a != b; }
bvec3 differs(vec3 a, vec3 b) { return notEqual(a, b); }
float chosen(bool condition, float when, float otherwise) { return condition ? when : otherwise; }
vec3 chosen(bvec3 condition, vec3 when, vec3 otherwise) { return mix(otherwise, when, condition); }
"""
_SIGNED: Final = f"""
T mirrored(T size, T rgb) {{
    return intBitsToFloat((floatBitsToInt(size) & 0x7FFFFFFF) | (floatBitsToInt(rgb) & ~0x7FFFFFFF));
}}
T two_to(T a) {{ return exp2(min(a, T({math.log2(LARGEST)!r}))); }}
T log_10(T a) {{ return log2(max(a, T({_LEAST!r}))) * {math.log10(2)!r}; }}
T raised(T size, T exponent, T at_zero) {{
    return chosen(is_less(T(0.0), size), two_to(exponent * log2(max(size, T({_LEAST!r})))), at_zero);
}}
"""
_TABLES: Final = f"""
vec2 entry(sampler2D table, int last, int channel, int place) {{
    int rows = (last - 1) / {ROW} + 1;
    return texelFetch(table, ivec2(place % {ROW}, channel * rows + place / {ROW}), 0).rg;
}}
vec3 entries(sampler2D table, int last, ivec3 place, vec3 part) {{
    vec2 r = entry(table, last, 0, place.r), g = entry(table, last, 1, place.g);
    vec2 b = entry(table, last, 2, place.b);
    vec3 low = vec3(r.x, g.x, b.x);
    return low + (vec3(r.y, g.y, b.y) - low) * part;
}}
vec3 half_float(ivec3 bits) {{
    vec3 normal = intBitsToFloat((bits << {_HALF_SHIFT}) + {_HALF_BIAS});
    return mix(normal, vec3(bits) * {_HALF_STEP!r}, lessThan(bits, ivec3({_HALF_NORMAL})));
}}
ivec3 half_bits(vec3 size) {{
    vec3 least = vec3({2.0**-14!r});
    ivec3 normal = (floatBitsToInt(max(size, least)) - {_HALF_BIAS}) >> {_HALF_SHIFT};
    ivec3 below = ivec3(min(size, least) * {1 / _HALF_STEP!r});
    return min(ivec3(mix(vec3(normal), vec3(below), lessThan(size, least))), ivec3({HALF_BITS - 1}));
}}
"""
_CELL: Final = """
ivec3 cell_of(vec3 place, int size) { return clamp(ivec3(place), 0, size - 2); }
vec3 node(sampler3D table, ivec3 rgb) { return texelFetch(table, rgb.bgr, 0).rgb; }
"""


def written(text: str, types: tuple[str, ...] = ("float", "vec3")) -> str:
    """Return each function of `text` in every one of `types`."""
    return "".join(in_type(text, type_) for type_ in types)


COMMON: Final = _CHOICE + written(_SIGNED) + _TABLES + _CELL

_POWER_ABOVE_ZERO: Final = """
    return chosen(is_less(T(0.0), rgb), raised(max(rgb, T(0.0)), exponent, at_zero), rgb);
"""
_TOE_POWER: Final = """
    T size = abs(rgb), curved = raised((size + toe) * share, exponent, at_zero);
    return mirrored(chosen(is_less(size, join), size * slope, curved), rgb);
"""
_TOE_ROOT: Final = """
    T size = abs(rgb), curved = whole * raised(size, root, at_zero) - toe;
    return mirrored(chosen(is_less(size, join), size * slope, curved), rgb);
"""
_TOE_LOG: Final = """
    return chosen(is_less(join, rgb), log_10(max(rgb, join)), start + (rgb - join) * slope);
"""
_TOE_ANTILOG: Final = f"""
    T straight = join + (rgb - start) * slope;
    return chosen(is_less(start, rgb), two_to(max(rgb, start) * {math.log2(10)!r}), straight);
"""
_CURVE: Final = """
    vec3 held = clamp(rgb, 0.0, 1.0), place = held * float(last);
    ivec3 cell = clamp(ivec3(place), 0, last - 1);
    vec3 inside = entries(table, last, cell, place - vec3(cell));
    return inside + (rgb - held) * chosen(is_less(rgb, vec3(0.0)), low, high);
"""
_HALF_CURVE: Final = f"""
    vec3 size = min(abs(rgb), {LARGEST_HALF!r});
    ivec3 bits = half_bits(size);
    vec3 low = half_float(bits), part = (size - low) / (half_float(bits + 1) - low);
    ivec3 sign = ivec3(lessThan(rgb, vec3(0.0))) * {HALF_SIGN};
    return entries(table, last, bits + sign, part);
"""
# The path from the cell's dark corner to its light one, along the axes in order of falling fraction.
_LATTICE: Final = """
    vec3 place = clamp(rgb, 0.0, 1.0) * float(size - 1);
    ivec3 cell = cell_of(place, size);
    vec3 f = place - vec3(cell);
    ivec3 most = f.r >= f.g && f.r >= f.b ? ivec3(1, 0, 0) : f.g >= f.b ? ivec3(0, 1, 0) : ivec3(0, 0, 1);
    ivec3 least = f.g >= f.b && f.r >= f.b ? ivec3(0, 0, 1) : f.r >= f.g ? ivec3(0, 1, 0) : ivec3(1, 0, 0);
    float large = max(max(f.r, f.g), f.b), small = min(min(f.r, f.g), f.b);
    float middle = max(min(f.r, f.g), min(max(f.r, f.g), f.b));
    return node(table, cell) * (1.0 - large) + node(table, cell + most) * (large - middle)
        + node(table, cell + 1 - least) * (middle - small) + node(table, cell + 1) * small;
"""
_TRILINEAR: Final = """
    vec3 place = clamp(rgb, 0.0, 1.0) * float(size - 1);
    ivec3 cell = cell_of(place, size);
    vec3 f = place - vec3(cell), sum = vec3(0.0);
    for (int corner = 0; corner < 8; corner++) {
        ivec3 step = ivec3(corner >> 2, corner >> 1, corner) & 1;
        vec3 share = mix(1.0 - f, f, vec3(step));
        sum += share.r * share.g * share.b * node(table, cell + step);
    }
    return sum;
"""

EMIT: Final[dict[str, Emitter]] = {
    "scale": _each("rgb factor", "return rgb * factor;"),
    "offset": _each("rgb amount", "return rgb + amount;"),
    "matrix": _of_table("vec3 rgb, mat3 rows", "return rows * rgb;", Takes.MATRIX),
    "power": _each(
        "rgb exponent at_zero",
        "return mirrored(raised(abs(rgb), exponent, at_zero), rgb);",
        lambda rgb, exponent: _at_zero(exponent),
    ),
    "power_above_zero": _each(
        "rgb exponent at_zero", _POWER_ABOVE_ZERO, lambda rgb, exponent: _at_zero(exponent)
    ),
    "toe_power": _each(
        "rgb exponent toe slope join share at_zero",
        _TOE_POWER,
        lambda rgb, exponent, toe, slope, join: 1.0 / (1.0 + toe),
        lambda rgb, exponent, toe, slope, join: _at_zero(exponent),
    ),
    "toe_root": _each(
        "rgb exponent toe slope join whole root at_zero",
        _TOE_ROOT,
        lambda rgb, exponent, toe, slope, join: 1.0 + toe,
        lambda rgb, exponent, toe, slope, join: 1.0 / exponent,
        lambda rgb, exponent, toe, slope, join: _at_zero(exponent),
    ),
    "log": _each("rgb", "return log_10(rgb);"),
    "antilog": _each("rgb", f"return two_to(rgb * {math.log2(10)!r});"),
    "toe_log": _each(
        "rgb join start slope",
        _TOE_LOG,
        lambda rgb, join: log(join),
        lambda rgb, join: 1.0 / (join * LN_10),
    ),
    "toe_antilog": _each(
        "rgb join start slope",
        _TOE_ANTILOG,
        lambda rgb, join: log(join),
        lambda rgb, join: join * LN_10,
    ),
    "curve": _of_table(
        "vec3 rgb, sampler2D table, int last, vec3 low, vec3 high", _CURVE, Takes.TABLE, Takes.ENDS
    ),
    "half_curve": _of_table("vec3 rgb, sampler2D table, int last", _HALF_CURVE, Takes.TABLE),
    "lattice": _of_table("vec3 rgb, sampler3D table, int size", _LATTICE, Takes.LATTICE),
    "lattice_trilinear": _of_table("vec3 rgb, sampler3D table, int size", _TRILINEAR, Takes.LATTICE),
    "clamp": _each("rgb low high", "return min(max(rgb, low), high);"),
    "mix": _each("first second key", "return first * (1.0 - key) + second * key;"),
    "add": _each("a b", "return a + b;"),
    "subtract": _each("a b", "return a - b;"),
    "multiply": _each("a b", "return a * b;"),
    "divide": _each("a b", "return a / b;"),
    "minimum": _each("a b", "return min(a, b);"),
    "maximum": _each("a b", "return max(a, b);"),
    "square_root": _each("a", "return sqrt(max(a, T(0.0)));"),
    "less": _each("a b", "return T(is_less(a, b));"),
    "select": _each(
        "condition when otherwise", "return chosen(differs(condition, T(0.0)), when, otherwise);"
    ),
    "dot": Emitter("T rgb, T weights", "return dot(rgb, weights);", (Takes.VALUE,) * 2, "float"),
    "red": _channel("r"),
    "green": _channel("g"),
    "blue": _channel("b"),
    "join": Emitter("float r, float g, float b", "return vec3(r, g, b);", (Takes.VALUE,) * 3, "vec3"),
}
