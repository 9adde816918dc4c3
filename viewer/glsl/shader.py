"""Chains drawn by the graphics processor: a shader for each structure, given the numbers of each frame."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping
from functools import lru_cache
from typing import Any, Final

from lamphouse.graph.chain.known import Inputs, known_value
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.trace import CONSTANT, Expression
from lamphouse.viewer.glsl.opengl import GL
from lamphouse.viewer.glsl.settled import Settled, settled
from lamphouse.viewer.glsl.source import Shapes, Source, shapes_of, source_of
from lamphouse.viewer.glsl.textures import ConstantTables, TableTexture

KEPT: Final = 16  # shaders: to go back to a choice compiles nothing

# One triangle that covers the whole raster.
CORNERS: Final = """#version 330 core
void main() {
    gl_Position = vec4(4.0 * float(gl_VertexID == 1) - 1.0, 4.0 * float(gl_VertexID == 2) - 1.0, 0.0, 1.0);
}
"""


class ChainShader:
    """Draws programs, bound or not, into what is bound. Needs a GL 3.3 context that is current on its thread.

    `compiled` counts the shaders compiled so far.
    """

    def __init__(self) -> None:
        self.compiled = 0
        self._corners = int(GL.glGenVertexArrays(1))
        self._settled = lru_cache(maxsize=64)(settled)
        self._source = lru_cache(maxsize=64)(self._source_of)
        self._made: OrderedDict[str, _Compiled] = OrderedDict()
        self._constants = ConstantTables()

    @property
    def objects(self) -> int:
        """How many GL objects there are: shaders, textures, and the array of corners."""
        return 1 + len(self._constants) + sum(1 + len(made.tables) for made in self._made.values())

    def settled(self, program: Expression) -> Settled:
        """Return `program` as it is drawn, and the calls that have to be done beforehand."""
        return self._settled(program)

    def draw(
        self,
        program: Expression,
        numbers: Inputs,
        pictures: Mapping[str, int],
        size: tuple[int, int],
        pixel_aspect: float = 1.0,
    ) -> None:
        """Draw what `program` makes of `pictures` into the bound framebuffer's first `size`, (width, height).

        `pictures` are 2D textures of that size by name, those of calls too; row 0 is the top, there and here.
        Raises BadInput where this GL cannot hold so large a chain, ValueError where a picture is missing.
        """
        source = self._source(program, shapes_of(numbers))
        if missing := [name for name in source.pictures if name not in pictures]:
            raise ValueError(f"There is no picture for {missing[0]}; give its texture.")
        made = self._compiled(source)
        values: dict[int, Any] = {}
        textures = self._tables(source, made, numbers, values)
        for unit, number in enumerate(pictures[name] for name in source.pictures):
            _bind(unit, GL.GL_TEXTURE_2D, number)
        for unit, texture in enumerate(textures, start=len(source.pictures)):
            _bind(unit, texture.target, texture.number)
        made.use(source.numbers(numbers, values), size, pixel_aspect)
        fill(self._corners, size)

    def delete(self) -> None:
        """Give everything back to GL."""
        GL.glUseProgram(0)  # what is in use would stay
        for made in self._made.values():
            made.delete()
        self._made.clear()
        self._constants.delete()
        GL.glDeleteVertexArrays(1, [self._corners])

    def _source_of(self, program: Expression, shapes: Shapes) -> Source:
        return source_of(self._settled(program).program, shapes)

    def _compiled(self, source: Source) -> _Compiled:
        if source.text not in self._made:
            self._made[source.text] = _Compiled(source)
            self.compiled += 1
            if len(self._made) > KEPT:
                self._made.popitem(last=False)[1].delete()
        self._made.move_to_end(source.text)
        return self._made[source.text]

    def _tables(
        self, source: Source, made: _Compiled, numbers: Inputs, values: dict[int, Any]
    ) -> list[TableTexture]:
        textures = []
        for index, (step, takes) in enumerate(source.tables):
            array = known_value(step, numbers, values)
            if step.primitive == CONSTANT:
                textures.append(self._constants.texture(array, takes))
            else:
                if index not in made.tables:
                    made.tables[index] = TableTexture(takes)
                made.tables[index].write(array)
                textures.append(made.tables[index])
        return textures


class _Compiled:
    """A shader as GL holds it, and the textures of those of its tables that change."""

    def __init__(self, source: Source) -> None:
        _check_room(source)
        self._program = linked(source.text)
        self.tables: dict[int, TableTexture] = {}
        names = ("centre", "pixel", "singles", "columns")
        self._places = {name: GL.glGetUniformLocation(self._program, name) for name in names}
        GL.glUseProgram(self._program)
        samplers = [f"picture_{n}" for n in range(len(source.pictures))]
        samplers += [f"table_{n}" for n in range(len(source.tables))]
        for unit, name in enumerate(samplers):
            GL.glUniform1i(GL.glGetUniformLocation(self._program, name), unit)

    def use(self, numbers: Any, size: tuple[int, int], pixel_aspect: float) -> None:
        """Make this the shader that draws, with a frame's numbers."""
        (singles, columns), (width, height) = numbers, size
        GL.glUseProgram(self._program)
        GL.glUniform2f(self._places["centre"], width / 2, height / 2)
        GL.glUniform2f(self._places["pixel"], pixel_aspect / height, 1 / height)
        if len(singles):
            GL.glUniform4fv(self._places["singles"], len(singles), singles)
        if len(columns):
            GL.glUniform3fv(self._places["columns"], len(columns), columns)

    def delete(self) -> None:
        """Give the shader and its textures back to GL."""
        GL.glDeleteProgram(self._program)
        for texture in self.tables.values():
            texture.delete()


def _bind(unit: int, target: int, number: int) -> None:
    GL.glActiveTexture(GL.GL_TEXTURE0 + unit)
    GL.glBindTexture(target, number)


def _check_room(source: Source) -> None:
    wanted, most = len(source.pictures) + len(source.tables), GL.glGetIntegerv(GL.GL_MAX_TEXTURE_IMAGE_UNITS)
    if wanted > most:
        raise BadInput(
            f"The chain reads {wanted} pictures and tables, and graphics here take {most}; "
            "take some of its curves or LUTs out."
        )


def fill(corners: int, size: tuple[int, int], at: tuple[int, int] = (0, 0)) -> None:
    """Draw the program in use over `size`, (width, height), of what is bound, from its pixel `at` on.

    `corners` is a vertex array, which GL wants to be there; nothing is read from it.
    """
    for what in (GL.GL_BLEND, GL.GL_SCISSOR_TEST, GL.GL_DEPTH_TEST, GL.GL_CULL_FACE):
        GL.glDisable(what)
    GL.glViewport(*at, *size)
    GL.glBindVertexArray(corners)
    GL.glDrawArrays(GL.GL_TRIANGLES, 0, 3)


def linked(text: str, corners: str = CORNERS) -> int:
    """Return the GL program that draws the fragment shader `text`: over the whole raster, or at `corners`.

    Raises BadInput where this GL cannot hold it, and RuntimeError for a text that is none.
    """
    program = int(GL.glCreateProgram())
    parts = [_part(GL.GL_VERTEX_SHADER, corners), _part(GL.GL_FRAGMENT_SHADER, text)]
    for part in parts:
        GL.glAttachShader(program, part)
    GL.glLinkProgram(program)
    for part in parts:
        GL.glDetachShader(program, part)
        GL.glDeleteShader(part)
    if not GL.glGetProgramiv(program, GL.GL_LINK_STATUS):
        log = GL.glGetProgramInfoLog(program)
        GL.glDeleteProgram(program)
        raise BadInput(f"The chain is too large for graphics here ({_text(log)}); take some nodes out.")
    return program


def _part(kind: int, text: str) -> int:
    part = int(GL.glCreateShader(kind))
    GL.glShaderSource(part, text)
    GL.glCompileShader(part)
    if not GL.glGetShaderiv(part, GL.GL_COMPILE_STATUS):
        raise RuntimeError(f"A shader does not compile: {_text(GL.glGetShaderInfoLog(part))}\n{text}")
    return part


def _text(log: Any) -> str:
    return " ".join((log.decode() if isinstance(log, bytes) else str(log)).split())
