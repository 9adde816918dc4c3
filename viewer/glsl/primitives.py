"""Each primitive as a function in GLSL 330, in the order of operations of its NumPy definition.

A body is written once, in T: a number a pixel or a colour. B is the truth of a comparison of two such.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

from lamphouse.nodes.maths import HALF_BITS, HALF_SIGN, LARGEST, LARGEST_HALF, LN_10, clamp, less, log, select
from lamphouse.nodes.primitive import PRIMITIVES, Form, Primitive, of_every_primitive
from lamphouse.nodes.trace import Expression

ROW: Final = 1024  # entries in a row of a table's texture: what every GL 3.3 can hold

# The smallest normal float32: a shader may take anything nearer zero for zero.
_LEAST: Final = 1.1754944e-38

# A half float's bits are those of a float32, shifted, less the difference of their exponents' biases.
_HALF_SHIFT: Final = 13
_HALF_BIAS: Final = (127 - 15) << 23
_HALF_NORMAL: Final = 1 << 10  # the bits of the smallest normal half float
_HALF_STEP: Final = 2.0**-24  # from one subnormal half float to the next


# How an argument of each form is declared, and what the function gives; T is float or vec3.
_DECLARED: Final = {
    Form.VALUE: "T {}",
    Form.NUMBER: "float {}",
    Form.COLOUR: "vec3 {}",
    Form.MATRIX: "mat3 {}",
    Form.ENDS: "vec3 low, vec3 high",
    Form.TABLE: "sampler2D {}, int last",
    Form.LATTICE: "sampler3D {}, int size",
}


@dataclass(frozen=True, slots=True)
class Emitter:
    """A primitive's body in GLSL, over the names of its arguments in the definition.

    Beyond these the function takes what `known` works out of them, so that what they share is done once a
    frame and not once a pixel.
    """

    body: str
    known: Mapping[str, Callable[..., Expression]]

    def arguments(self, step: Expression) -> list[tuple[Expression, Form]]:
        """Return what the function is called with for `step`, and the form of each."""
        values = (*step.arguments, *(work_out(*step.arguments) for work_out in self.known.values()))
        return list(zip(values, self._forms(PRIMITIVES[step.primitive]), strict=True))

    def function(self, name: str, type_: str) -> str:
        """Return the text of the function for values of `type_`, float or vec3."""
        primitive = PRIMITIVES[name]
        gives = _DECLARED[primitive.gives].split()[0]
        named = zip(self._forms(primitive), (*primitive.names, *self.known), strict=True)
        parameters = ", ".join(_DECLARED[form].format(argument) for form, argument in named)
        return in_type(f"{gives} {function_name(name)}({parameters}) {{ {self.body} }}", type_)

    def _forms(self, primitive: Primitive) -> tuple[Form, ...]:
        return (*primitive.takes, *(Form.VALUE,) * len(self.known))


def function_name(primitive: str) -> str:
    """Return what the function of a primitive is called; GLSL has a log, a mix and a clamp of its own."""
    return f"p_{primitive}"


def in_type(text: str, type_: str) -> str:
    """Return `text` with float or vec3 for T, and for B the truth of it."""
    truth = {"float": "bool", "vec3": "bvec3"}[type_]
    return re.sub(r"\bB\b", truth, re.sub(r"\bT\b", type_, text))


def _of(body: str, **known: Callable[..., Expression]) -> Emitter:
    return Emitter(body, known)


def _at_zero(exponent: Expression) -> Expression:
    """Return zero to the power of `exponent`, which GLSL leaves open."""
    value: Expression = select(less(0.0, exponent), 0.0, select(less(exponent, 0.0), LARGEST, 1.0))
    return value


def _inverse(exponent: Expression) -> Expression:
    value: Expression = clamp(1.0 / exponent, -LARGEST, LARGEST)
    return value


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
vec2 entry(sampler2D table, int last, int channel, int spot) {{
    int rows = (last - 1) / {ROW} + 1;
    return texelFetch(table, ivec2(spot % {ROW}, channel * rows + spot / {ROW}), 0).rg;
}}
vec3 entries(sampler2D table, int last, ivec3 spot, vec3 part) {{
    vec2 r = entry(table, last, 0, spot.r), g = entry(table, last, 1, spot.g);
    vec2 b = entry(table, last, 2, spot.b);
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
ivec3 cell_of(vec3 spot, int size) { return clamp(ivec3(spot), 0, size - 2); }
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
    T size = abs(rgb), curved = above * raised(size, root, at_zero) - toe;
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
    vec3 clamped = clamp(rgb, 0.0, 1.0), spot = clamped * float(last);
    ivec3 cell = clamp(ivec3(spot), 0, last - 1);
    vec3 inside = entries(table, last, cell, spot - vec3(cell));
    return inside + (rgb - clamped) * chosen(is_less(rgb, vec3(0.0)), low, high);
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
    vec3 spot = clamp(rgb, 0.0, 1.0) * float(size - 1);
    ivec3 cell = cell_of(spot, size);
    vec3 f = spot - vec3(cell);
    ivec3 most = f.r >= f.g && f.r >= f.b ? ivec3(1, 0, 0) : f.g >= f.b ? ivec3(0, 1, 0) : ivec3(0, 0, 1);
    ivec3 least = f.g >= f.b && f.r >= f.b ? ivec3(0, 0, 1) : f.r >= f.g ? ivec3(0, 1, 0) : ivec3(1, 0, 0);
    float large = max(max(f.r, f.g), f.b), small = min(min(f.r, f.g), f.b);
    float middle = max(min(f.r, f.g), min(max(f.r, f.g), f.b));
    return node(table, cell) * (1.0 - large) + node(table, cell + most) * (large - middle)
        + node(table, cell + 1 - least) * (middle - small) + node(table, cell + 1) * small;
"""
_TRILINEAR: Final = """
    vec3 spot = clamp(rgb, 0.0, 1.0) * float(size - 1);
    ivec3 cell = cell_of(spot, size);
    vec3 f = spot - vec3(cell), sum = vec3(0.0);
    for (int corner = 0; corner < 8; corner++) {
        ivec3 step = ivec3(corner >> 2, corner >> 1, corner) & 1;
        vec3 share = mix(1.0 - f, f, vec3(step));
        sum += share.r * share.g * share.b * node(table, cell + step);
    }
    return sum;
"""

EMIT: Final = of_every_primitive(
    {
        "scale": _of("return rgb * factor;"),
        "offset": _of("return rgb + amount;"),
        "matrix": _of("return rows * rgb;"),
        "power": _of(
            "return mirrored(raised(abs(rgb), exponent, at_zero), rgb);",
            at_zero=lambda rgb, exponent: _at_zero(exponent),
        ),
        "power_above_zero": _of(_POWER_ABOVE_ZERO, at_zero=lambda rgb, exponent: _at_zero(exponent)),
        "toe_power": _of(
            _TOE_POWER,
            share=lambda rgb, exponent, toe, slope, join: 1.0 / (1.0 + toe),
            at_zero=lambda rgb, exponent, toe, slope, join: _at_zero(exponent),
        ),
        "toe_root": _of(
            _TOE_ROOT,
            above=lambda rgb, exponent, toe, slope, join: 1.0 + toe,
            root=lambda rgb, exponent, toe, slope, join: _inverse(exponent),
            at_zero=lambda rgb, exponent, toe, slope, join: _at_zero(_inverse(exponent)),
        ),
        "log": _of("return log_10(rgb);"),
        "antilog": _of(f"return two_to(rgb * {math.log2(10)!r});"),
        "toe_log": _of(
            _TOE_LOG, start=lambda rgb, join: log(join), slope=lambda rgb, join: 1.0 / (join * LN_10)
        ),
        "toe_antilog": _of(
            _TOE_ANTILOG, start=lambda rgb, join: log(join), slope=lambda rgb, join: join * LN_10
        ),
        "curve": _of(_CURVE),
        "half_curve": _of(_HALF_CURVE),
        "lattice": _of(_LATTICE),
        "lattice_trilinear": _of(_TRILINEAR),
        "clamp": _of("return min(max(rgb, low), high);"),
        "mix": _of("return first * (1.0 - share) + second * share;"),
        "add": _of("return a + b;"),
        "subtract": _of("return a - b;"),
        "multiply": _of("return a * b;"),
        "divide": _of("return a / b;"),
        "minimum": _of("return min(a, b);"),
        "maximum": _of("return max(a, b);"),
        "square_root": _of("return sqrt(max(a, T(0.0)));"),
        "less": _of("return T(is_less(a, b));"),
        "select": _of("return chosen(differs(condition, T(0.0)), when, otherwise);"),
        "dot": _of("return dot(rgb, weights);"),
        "red": _of("return rgb.r;"),
        "green": _of("return rgb.g;"),
        "blue": _of("return rgb.b;"),
        "join": _of("return vec3(r, g, b);"),
    },
    "The functions in GLSL",
)
