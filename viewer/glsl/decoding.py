"""A scan's codes become R'G'B' in a fragment shader, by the numbers of `graph/media/codes`.

The shader is `smaller(to_rgb(codes), divide)` in one step: what a square of pixels reads of each component
is one sum, since all of it is straight. Filters, matrices and ranges are asked of those who own them, and
written in as constants: a scan has one shader for each raster.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import gcd
from typing import Any, Final

from lamphouse.graph.media.codes.chroma import ITSELF, OFFSETS, Sited, is_alone, weights
from lamphouse.graph.media.codes.decode_planes import Coded, chroma_weights, rgb_zero_and_span
from lamphouse.graph.media.codes.pixel_layout import Part

Taps = dict[int, float]  # the weight of each sample, by how far it lies from the first that is covered

_CHROMA: Final = (1, 2)


@dataclass(frozen=True, slots=True)
class Kind:
    """All on which a decoding shader depends.

    `meant` is a frame without its planes, None where samples are the signal itself, as floats; `parts` say in
    which texture each component lies; sizes, (width, height), are of each component.
    """

    meant: Coded | None
    parts: tuple[Part, ...]
    sizes: tuple[tuple[int, int], ...]
    is_swapped: bool  # whether the bytes of a sample are in the order that is not this machine's
    divide: int

    @property
    def raster(self) -> tuple[int, int]:
        """The width and height of what is drawn: squares of `divide` pixels, those that are whole."""
        width, height = self.sizes[0]
        return width // self.divide, height // self.divide


@lru_cache(maxsize=64)
def decoder_of(kind: Kind) -> str:
    """Return the fragment shader that draws a frame of this kind; its textures are `plane_0` and on."""
    is_straight = kind.meant is None or kind.meant.layout.family != "ycbcr"
    body = _straight(kind) if is_straight else _ycbcr(kind)
    return "\n".join(("#version 330 core", *_samples(kind), "out vec4 drawn;", *body, ""))


def taps_of(luma: int, factor: int, sited: Sited, divide: int) -> tuple[tuple[Taps, ...], Taps | None]:
    """Return what each pixel in turn reads of a line that has one sample in `factor`, the mean of `divide`.

    The second is what the last pixel reads instead, if it is one of its own.
    """
    by = weights(factor, sited)
    pixels = factor // gcd(factor, divide)
    alone = None
    if divide == 1 and is_alone(luma, factor, sited):
        alone = _mean([(0, ITSELF)])
    each = (range(pixel * divide, (pixel + 1) * divide) for pixel in range(pixels))
    return tuple(
        _mean([(at // factor - line[0] // factor, by[at % factor]) for at in line]) for line in each
    ), alone


def _mean(read: Sequence[tuple[int, Sequence[float]]]) -> Taps:
    taps: Taps = {}
    for covered, by in read:
        for offset, weight in zip(OFFSETS, by, strict=True):
            taps[covered + offset] = taps.get(covered + offset, 0.0) + weight / len(read)
    return {offset: weight for offset, weight in taps.items() if weight}


def _samples(kind: Kind) -> list[str]:
    """Return the lines that declare the textures, and a function for a sample of each component."""
    is_float = kind.meant is None
    sampler, type_ = ("sampler2D", "float") if is_float else ("usampler2D", "uint")
    lines = [f"uniform {sampler} plane_{n};" for n in sorted({part.plane for part in kind.parts})]
    for number, part in enumerate(kind.parts):
        column = f"at.x * {part.step} + {part.first}" if part.step > 1 else "at.x"
        sample = f"{type_} code = texelFetch(plane_{part.plane}, ivec2({column}, at.y), 0).r;"
        swap = " code = (code >> 8) | ((code & 255u) << 8);" if kind.is_swapped else ""
        lines.append(f"float sample_{number}(ivec2 at) {{ {sample}{swap} return float(code); }}")
    return lines


def _straight(kind: Kind) -> list[str]:
    zero, span = (0, 1) if kind.meant is None else rgb_zero_and_span(kind.meant)
    read = "vec3(sample_0(at), sample_1(at), sample_2(at))"
    return [
        f"vec3 pixel(ivec2 at) {{ return {read}; }}",
        "void main() {",
        *_square("vec3", "pixel", kind.divide),
        f"    drawn = vec4((sum / {kind.divide**2}.0 - {zero}.0) / {span}.0, 1.0);",
        "}",
    ]


def _square(type_: str, sample: str, divide: int) -> list[str]:
    """Return the lines that add up a square of samples."""
    return [
        f"    {type_} sum = {type_}(0.0);",
        f"    ivec2 from = ivec2(gl_FragCoord.xy) * {divide};",
        f"    for (int y = 0; y < {divide}; y++)",
        f"        for (int x = 0; x < {divide}; x++) sum += {sample}(from + ivec2(x, y));",
    ]


def _ycbcr(kind: Kind) -> list[str]:
    assert kind.meant is not None
    by, offsets, gain, zero = chroma_weights(kind.meant)
    blue, red = (_vector(by[:, n]) for n in range(2))
    width, height = kind.sizes[1]
    across, down = kind.meant.layout.subsampling
    return [
        "vec2 chroma(ivec2 at) {",
        f"    ivec2 held = clamp(at, ivec2(0), ivec2({width - 1}, {height - 1}));",
        "    return vec2(sample_1(held), sample_2(held));",
        "}",
        *_line(kind, 0, "across", "chroma(at + ivec2({}, 0))"),
        *_line(kind, 1, "upright", "across(at + ivec2(0, {}))"),
        "void main() {",
        *_square("float", "sample_0", kind.divide),
        f"    float luma = (sum / {kind.divide**2}.0 - {float(zero)!r}) * {float(gain)!r};",
        f"    vec2 mean = upright(ivec2(from.x / {across}, from.y / {down}));",
        f"    drawn = vec4(luma + mean.x * {blue} + mean.y * {red} + {_vector(offsets)}, 1.0);",
        "}",
    ]


def _line(kind: Kind, axis: int, name: str, sample: str) -> list[str]:
    """Return the function that filters chroma along one axis, from the first sample that is covered."""
    assert kind.meant is not None
    siting, luma = kind.meant.coding.siting, kind.sizes[0][axis]
    sited = (siting.across, siting.down)[axis]
    each, alone = taps_of(luma, kind.meant.layout.subsampling[axis], sited, kind.divide)
    pixel = f"int(gl_FragCoord.{'xy'[axis]})"
    phase = f"{pixel} % {len(each)}"
    if alone is not None:
        phase, each = f"{pixel} == {luma - 1} ? {len(each)} : {phase}", (*each, alone)
    offsets = sorted({offset for taps in each for offset in taps})
    terms = [f"{_chosen([taps.get(o, 0.0) for taps in each])} * {sample.format(o)}" for o in offsets]
    return [f"vec2 {name}(ivec2 at) {{", f"    int phase = {phase};", f"    return {' + '.join(terms)};", "}"]


def _chosen(values: Sequence[float]) -> str:
    """Return the text of the value of a `phase`."""
    if len(set(values)) == 1:
        return repr(values[0])
    cases = "".join(f"phase == {number} ? {value!r} : " for number, value in enumerate(values[:-1]))
    return f"({cases}{values[-1]!r})"


def _vector(values: Iterable[Any]) -> str:
    return f"vec3({', '.join(repr(float(value)) for value in values)})"
