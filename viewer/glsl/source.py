"""A program becomes the text of a fragment shader and a list of what has to be given to it once a frame.

What no pixel is in is worked out on the processor, in float64, and given as one number, column or texture
for the whole of a formula. So a control that moves changes what is given, and never the text.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.known import Inputs, known_value
from lamphouse.nodes.primitive import COLOUR, Form
from lamphouse.nodes.trace import INPUT, PICTURE, PLACE, Expression, channels_of, frame_input, rebuilt, walk
from lamphouse.viewer.glsl.primitives import COMMON, EMIT, function_name

Shapes = tuple[tuple[str, tuple[int, ...]], ...]

_TYPES: Final = {1: "float", 3: "vec3"}
_SAMPLERS: Final = {Form.TABLE: "sampler2D", Form.LATTICE: "sampler3D"}


def shapes_of(inputs: Inputs) -> Shapes:
    """Return the shapes of a frame's inputs: with the program, all that a shader's text depends on."""
    return tuple((name, value.shape) for name, value in inputs.items())


@dataclass(frozen=True, slots=True)
class Columns:
    """Where in the array of columns a step of (3, count) begins."""

    step: Expression
    start: int
    count: int


@dataclass(frozen=True, slots=True)
class Source:
    """The text of a fragment shader, and the steps whose values it is given.

    `singles` are numbers a frame, `columns` three of them for each column; `tables` are textures, in the
    order of their samplers, which come after those of `pictures`.
    """

    text: str
    singles: tuple[Expression, ...]
    columns: tuple[Columns, ...]
    tables: tuple[tuple[Expression, Form], ...]
    pictures: tuple[str, ...]

    def numbers(self, inputs: Inputs, values: dict[int, Any]) -> tuple[NDArray[np.float32], ...]:
        """Return what singles, four to a row, and columns, (n, 3), hold in a frame with `inputs`."""
        singles = np.zeros((len(self.singles) + 3) // 4 * 4, np.float32)
        columns = np.zeros((sum(c.count for c in self.columns), 3), np.float32)
        with np.errstate(over="ignore"):
            for index, step in enumerate(self.singles):
                singles[index] = known_value(step, inputs, values)[0, 0]
            for c in self.columns:
                columns[c.start : c.start + c.count] = known_value(c.step, inputs, values).T
        return singles.reshape(-1, 4), columns


def source_of(program: Expression, shapes: Shapes) -> Source:
    """Return the shader of a program without calls whose inputs have these shapes.

    Raises ValueError for a call, and for an array of a shape that an argument cannot have.
    """
    given = dict(shapes)

    def as_wide(step: Expression, arguments: tuple[Expression, ...]) -> Expression:
        if step.primitive != INPUT:
            return step.over(arguments)
        return frame_input(step.name, channels_of(given[step.name])) if step.name in given else step

    return _Writer(shapes).source(rebuilt(program, as_wide))


def function_of(name: str, program: Expression) -> str:
    """Return the text of `vec3 NAME(vec3 rgb)`: what `program` makes of its one picture, numbers written in.

    `program` has neither inputs nor calls. What its formulae are written over comes before it, and its tables
    as samplers `table_0`, `table_1` and so on, in the order in which it reads them.
    """
    return _Writer((), "rgb").function(name, program)


@dataclass(slots=True)
class _Given:
    """What has been asked for so far, each once."""

    singles: dict[int, tuple[int, Expression]] = field(default_factory=dict)
    columns: dict[int, Columns] = field(default_factory=dict)
    tables: dict[tuple[int, Form], tuple[int, Expression]] = field(default_factory=dict)
    pictures: dict[str, int] = field(default_factory=dict)


class _Writer:
    def __init__(self, shapes: Shapes, argument: str = "") -> None:
        self._argument = argument  # in place of the only picture
        self._zeros = {name: np.zeros(shape) for name, shape in shapes}
        self._values: dict[int, Any] = {}
        self._given = _Given()
        self._functions: dict[str, None] = {}
        self._lines: list[str] = []
        self._kept: list[Expression] = []  # steps are known by their identity: none may go meanwhile
        self._made: dict[int, str] = {}  # a step's name in the text

    def source(self, program: Expression) -> Source:
        self._write(program)
        result = self._value(program, COLOUR)
        given = self._given
        return Source(
            self._text(result),
            tuple(step for _, step in given.singles.values()),
            tuple(given.columns.values()),
            tuple((step, form) for (_, form), (_, step) in given.tables.items()),
            tuple(given.pictures),
        )

    def function(self, name: str, program: Expression) -> str:
        source = self.source(program)
        singles, columns = source.numbers({}, {})
        return "\n".join(
            (
                *(f"uniform {_SAMPLERS[form]} table_{n};" for n, (_, form) in enumerate(source.tables)),
                COMMON,
                *self._functions,
                f"vec3 {name}(vec3 {self._argument}) {{",
                *(_constant("singles", "vec4", singles), _constant("columns", "vec3", columns)),
                *(f"    {line}" for line in self._lines),
                f"    return {self._value(program, COLOUR)};",
                "}",
            )
        )

    def _write(self, expression: Expression) -> None:
        """Write the lines of every step that is not there yet. What is known once a frame needs none."""
        self._kept.append(expression)
        for step in walk(expression):
            if step.per_pixel and id(step) not in self._made:
                self._made[id(step)] = self._line(step)

    def _text(self, result: str) -> str:
        given = self._given
        uniforms = ["vec2 centre", "vec2 pixel"]
        if given.singles:
            uniforms.append(f"vec4 singles[{(len(given.singles) + 3) // 4}]")
        if given.columns:
            uniforms.append(f"vec3 columns[{sum(c.count for c in given.columns.values())}]")
        uniforms += [f"sampler2D picture_{number}" for number in given.pictures.values()]
        uniforms += [f"{_SAMPLERS[form]} table_{number}" for (_, form), (number, _) in given.tables.items()]
        return "\n".join(
            (
                "#version 330 core",
                *(f"uniform {uniform};" for uniform in uniforms),
                "out vec4 drawn;",
                COMMON,
                *self._functions,
                "void main() {",
                "    vec2 place = (gl_FragCoord.xy - centre) * pixel;",
                *(f"    {line}" for line in self._lines),
                f"    drawn = vec4({result}, 1.0);",
                "}\n",
            )
        )

    def _line(self, step: Expression) -> str:
        text = self._called(step)
        name = f"v{len(self._lines)}"
        self._lines.append(f"{_TYPES[step.channels]} {name} = {text};")
        return name

    def _called(self, step: Expression) -> str:
        if step.primitive == PICTURE and self._argument:
            return self._argument
        if step.primitive == PICTURE:
            number = self._given.pictures.setdefault(step.name, len(self._given.pictures))
            return f"texelFetch(picture_{number}, ivec2(gl_FragCoord.xy), 0).rgb"
        if step.primitive == PLACE:
            return "place.y" if step.name == "down" else "place.x"
        if step.primitive not in EMIT:
            raise ValueError(f"No shader can do the step {step.primitive} {step.name}; do it beforehand.")
        emitter = EMIT[step.primitive]
        formed = emitter.arguments(step)
        for argument, _ in formed[len(step.arguments) :]:
            self._write(argument)
        width = max((a.channels for a, form in formed if form is Form.VALUE), default=COLOUR)
        widths = {Form.VALUE: width, Form.NUMBER: 1, Form.COLOUR: COLOUR}
        self._functions[emitter.function(step.primitive, _TYPES[width])] = None
        arguments = [self._array(a, f) if f.is_array else self._value(a, widths[f]) for a, f in formed]
        return f"{function_name(step.primitive)}({', '.join(arguments)})"

    def _shape(self, step: Expression) -> tuple[int, ...]:
        shape: tuple[int, ...] = known_value(step, self._zeros, self._values).shape
        return shape

    def _value(self, step: Expression, width: int) -> str:
        """Return the text of a number or a colour as one of `width` channels."""
        if step.per_pixel:
            text = self._made[id(step)]
        elif self._shape(step) == (1, 1):
            number = self._given.singles.setdefault(id(step), (len(self._given.singles), step))[0]
            text = f"singles[{number // 4}].{'xyzw'[number % 4]}"
        else:
            text = f"columns[{self._columns(step, (3, 1))}]"
        return text if step.channels == width else f"{_TYPES[width]}({text})"

    def _columns(self, step: Expression, shape: tuple[int, int]) -> int:
        _check(step, self._shape(step), shape)
        columns = self._given.columns
        start = sum(c.count for c in columns.values())
        return columns.setdefault(id(step), Columns(step, start, shape[1])).start

    def _array(self, step: Expression, form: Form) -> str:
        if form in (Form.MATRIX, Form.ENDS):
            count = 3 if form is Form.MATRIX else 2
            start = self._columns(step, (3, count))
            listed = ", ".join(f"columns[{start + c}]" for c in range(count))
            return f"mat3({listed})" if form is Form.MATRIX else listed
        shape = self._shape(step)
        _check(step, shape, (3, shape[-1]) if form is Form.TABLE else (shape[0],) * 3 + (3,))
        tables = self._given.tables
        number = tables.setdefault((id(step), form), (len(tables), step))[0]
        return f"table_{number}, {shape[1] - 1 if form is Form.TABLE else shape[0]}"


def _constant(name: str, type_: str, rows: NDArray[np.float32]) -> str:
    """Return the line of an array of constants; none where it is empty, which GLSL cannot write."""
    listed = ", ".join(f"{type_}({', '.join(map(repr, row))})" for row in rows.tolist())
    return f"    const {type_} {name}[{len(rows)}] = {type_}[]({listed});" if len(rows) else ""


def _check(step: Expression, shape: tuple[int, ...], wanted: tuple[int, ...]) -> None:
    if shape != wanted:
        raise ValueError(
            f"A shader takes {step.primitive} {step.name} of shape {wanted}, and here it is {shape}."
        )
