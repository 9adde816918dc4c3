"""Lines over a picture that has no panels: light ones, each on a dark one, so that any picture shows them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from lamphouse.viewer import colours
from lamphouse.viewer.glsl.opengl import GL
from lamphouse.viewer.glsl.shader import linked

MOST: Final = 64  # ends of lines, more than all guides have

_ENDS: Final = f"""#version 330 core
uniform vec2 ends[{MOST}];
uniform vec2 size;
uniform vec2 aside;
void main() {{ gl_Position = vec4((ends[gl_VertexID] + aside) / size * 2.0 - 1.0, 0.0, 1.0); }}
"""
_COLOUR: Final = """#version 330 core
uniform vec3 colour;
out vec4 shown;
void main() { shown = vec4(colour, 1.0); }
"""
Line = tuple[tuple[float, float], tuple[float, float]]


class GuideLines:
    """Draws lines a pixel wide. Needs a GL 3.3 context, on its thread."""

    def __init__(self) -> None:
        self._program = linked(_COLOUR, _ENDS)
        self._array = int(GL.glGenVertexArrays(1))

    def draw(self, lines: Sequence[Line], size: tuple[int, int]) -> None:
        """Draw lines between places in pixels, from the top left, over what is bound, of that size."""
        ends = np.array(lines, np.float32).reshape(-1, 2)[:MOST]
        GL.glUseProgram(self._program)
        GL.glUniform2fv(self._location("ends"), len(ends), ends)
        GL.glUniform2f(self._location("size"), *size)
        GL.glBindVertexArray(self._array)
        for aside, colour in ((1.0, colours.SURROUND), (0.0, colours.BRIGHT)):
            GL.glUniform2f(self._location("aside"), aside, aside)
            GL.glUniform3f(self._location("colour"), *colour[:3])
            GL.glDrawArrays(GL.GL_LINES, 0, len(ends))

    def delete(self) -> None:
        """Give everything back to GL."""
        GL.glDeleteVertexArrays(1, [self._array])
        GL.glDeleteProgram(self._program)

    def _location(self, name: str) -> int:
        return int(GL.glGetUniformLocation(self._program, name))
