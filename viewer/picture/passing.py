"""A picture that is gone in a moment, where GL runs on the processor: the monitor's codes of it, made there.

They are made at the picture's own raster, as machine code, and GL only lays them into the window: codes are
interpolated, and not signal. It takes a fifth of the time of the display step, which draws whatever rests.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.back_end import Run
from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.media.codes.encode_planes import plane_coding
from lamphouse.nodes.trace import picture
from lamphouse.viewer.glsl.opengl import GL
from lamphouse.viewer.glsl.shader import fill, linked
from lamphouse.viewer.models.frame import Lie
from lamphouse.viewer.models.monitors import Monitor
from lamphouse.viewer.picture.monitor import monitor_code
from lamphouse.viewer.turn.display import Look

Picture = NDArray[np.float32]
Box = tuple[float, float, float, float]

_CODING: Final = plane_coding("gbrp", "rgb", "full")
# Nothing but one texture is read, at places that go evenly: what GL on a processor does fastest.
_CORNERS: Final = """#version 330 core
uniform vec4 seen;  // of the codes: left, top, right, bottom, in shares
out vec2 place;
void main() {
    vec2 at = vec2(2.0 * float(gl_VertexID == 1), 2.0 * float(gl_VertexID == 2));
    place = vec2(mix(seen.x, seen.z, at.x), mix(seen.w, seen.y, at.y));
    gl_Position = vec4(2.0 * at - 1.0, 0.0, 1.0);
}
"""
_PASSING: Final = """#version 330 core
uniform sampler2D codes;
in vec2 place;
out vec4 shown;
void main() { shown = texture(codes, place); }
"""


def monitor_codes(run: Run, signal: Picture, monitor: Monitor) -> NDArray[np.uint8]:
    """Return video signal (3, h, w) as a monitor's R'G'B'A of 8 bits, (h, w, 4)."""
    planes = [np.empty(signal.shape[1:], np.uint8) for _ in range(3)]
    run.into(monitor_code(picture(SCAN), monitor), signal, planes, _CODING)
    codes = np.empty((*signal.shape[1:], 4), np.uint8)
    for channel, plane in enumerate(planes):
        codes[..., channel] = plane
    codes[..., 3] = 255
    return codes


class Passing:
    """Lays codes into the window. Needs a GL 3.3 context, on its thread."""

    def __init__(self) -> None:
        self._program = linked(_PASSING, _CORNERS)
        self._corners = int(GL.glGenVertexArrays(1))

    def paint(self, look: Look, height: int, codes: int) -> None:
        """Draw a texture of codes as `look` has its picture into a window that is `height` pixels high."""
        assert look.corner is not None
        (left, top), (width, tall) = look.corner, look.size
        _clear((left, height - top - tall, width, tall), look.surround / 255)
        frame = _within((0, 0, *look.size), _in_pixels((0, 0, 1, 1), look))
        _clear(_up(frame, look, height), 0.0)
        lit = _within(frame, _in_pixels(lit_part(look.lie), look))
        x, y, wide, high = _up(lit, look, height)
        if wide > 0 and high > 0:
            GL.glUseProgram(self._program)
            GL.glActiveTexture(GL.GL_TEXTURE0)
            GL.glBindTexture(GL.GL_TEXTURE_2D, codes)
            GL.glUniform1i(GL.glGetUniformLocation(self._program, "codes"), 0)
            GL.glUniform4f(GL.glGetUniformLocation(self._program, "seen"), *_of_picture(lit, look))
            fill(self._corners, (wide, high), (x, y))

    def delete(self) -> None:
        """Give everything back to GL."""
        GL.glDeleteVertexArrays(1, [self._corners])
        GL.glDeleteProgram(self._program)


def is_straight(lie: Lie) -> bool:
    """Say whether a picture stands upright in its frame, be it mirrored or not."""
    return lie.across[1] == 0 == lie.down[0] and lie.across[0] != 0 != lie.down[1]


def lit_part(lie: Lie) -> Box:
    """Return which part of the frame shows the picture, where that stands upright."""
    (x, y), (right, bottom) = (lie.shown((lie.edges[n], lie.edges[n + 1])) for n in (0, 2))
    left, right, top, bottom = *sorted((x, right)), *sorted((y, bottom))
    return _within(lie.window, (left, top, right, bottom))


def _within(a: Box, b: Box) -> Box:
    return max(a[0], b[0]), max(a[1], b[1]), min(a[2], b[2]), min(a[3], b[3])


def _in_pixels(part: Box, look: Look) -> Box:
    """Return a part of the frame in whole pixels of the picture's part of the window."""
    area = look.area
    left, right = (round(area.left + x * area.width) for x in (part[0], part[2]))
    top, bottom = (round(area.top + y * area.height) for y in (part[1], part[3]))
    return left, top, right, bottom


def _up(box: Box, look: Look, height: int) -> tuple[int, int, int, int]:
    """Return pixels counted down in the part as GL counts them, up in the window: x, y, width, height."""
    assert look.corner is not None
    left, top = look.corner
    x, y = left + int(box[0]), height - top - int(box[3])
    return x, y, int(box[2] - box[0]), int(box[3] - box[1])


def _of_picture(lit: Box, look: Look) -> Box:
    area = look.area
    corners = [((x - area.left) / area.width, (y - area.top) / area.height) for x, y in (lit[:2], lit[2:])]
    (left, top), (right, bottom) = (look.lie.under(corner) for corner in corners)
    return left, top, right, bottom


def _clear(part: tuple[int, int, int, int], level: float) -> None:
    if part[2] > 0 and part[3] > 0:
        GL.glEnable(GL.GL_SCISSOR_TEST)
        GL.glScissor(*part)
        GL.glClearColor(level, level, level, 1.0)
        GL.glClear(GL.GL_COLOR_BUFFER_BIT)
        GL.glDisable(GL.GL_SCISSOR_TEST)
