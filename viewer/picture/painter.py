"""The picture on the graphics processor: the scan's frame, the chain over it, and the step to the monitor.

The chain is drawn at the raster of what was read, into floats; the display step alone knows the window. It
takes video signal as ITU-R BT.1886 shows it (light = signal ** 2.4) and gives the monitor IEC 61966-2-1,
with less than a code of noise so that no gradient shows steps. Nothing here corrects a colour.
"""

from __future__ import annotations

from collections.abc import Mapping
from ctypes import c_void_p
from dataclasses import dataclass
from functools import partial
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.back_end import open_run
from lamphouse.graph.chain.known import Inputs
from lamphouse.graph.chain.order import SCAN
from lamphouse.nodes.trace import Expression, picture
from lamphouse.viewer.colours import SURROUND_CODE
from lamphouse.viewer.glsl.opengl import GL
from lamphouse.viewer.glsl.settled import call_pictures
from lamphouse.viewer.glsl.shader import ChainShader, linked
from lamphouse.viewer.glsl.source import function_of
from lamphouse.viewer.models.frame import Lie
from lamphouse.viewer.models.scanned import Frame
from lamphouse.viewer.picture.monitor import monitor_code
from lamphouse.viewer.picture.texels import texels
from lamphouse.viewer.turn.display import Look

Picture = NDArray[np.float32]
NOTHING: Final = Lie(window=(0.0, 0.0, 0.0, 0.0))
STATED: Final = "BT.1886, shown as sRGB"

_DISPLAY: Final = f"""#version 330 core
uniform sampler2D graded;
uniform sampler2D other;
uniform vec4 area;       // left, top, width, height of what is seen, in pixels of the window's part
uniform vec3 across[2];  // of graded and other: which place of it the frame shows, in shares of both
uniform vec3 down[2];
uniform vec4 edges[2];   // left, top, right, bottom of what is seen of it, in its shares
uniform vec4 window[2];  // and of the part of the frame that it is seen in; without width where it lacks
uniform vec3 edge;       // of a wipe: its direction and place, in heights of the picture from its middle
uniform float line;      // half the width of the edge, in pixels
uniform float seam;      // from there to the right the other is seen, at the same place; 0 nowhere
uniform vec2 limits;     // signal below and above which pixels are marked; equal where none are
uniform sampler2D judged;  // which places of the frame are marked instead, where something was judged
uniform bool is_judged;
out vec4 shown;
{function_of("monitor_code", monitor_code(picture("signal")))}
float noise(vec2 at) {{ return fract(52.9829189 * fract(dot(at, vec2(0.06711056, 0.00583715)))); }}
void main() {{
    vec2 at = vec2(gl_FragCoord.x, gl_FragCoord.y);
    bool is_beside = seam > 0.0 && at.x > seam;
    vec2 place = (at - vec2(is_beside ? seam : 0.0, 0.0) - area.xy) / area.zw;
    float beyond = dot((place - 0.5) * vec2(area.z / area.w, 1.0), edge.xy) - edge.z;
    bool is_other = is_beside || beyond >= 0.0;
    int which = is_other ? 1 : 0;
    vec4 open = window[which];
    if (open.z <= open.x || any(lessThan(place, vec2(0.0))) || any(greaterThan(place, vec2(1.0)))) {{
        shown = vec4(vec3({SURROUND_CODE} / 255.0), 1.0);
        return;
    }}
    vec2 under = vec2(dot(across[which], vec3(place, 1.0)), dot(down[which], vec3(place, 1.0)));
    vec4 seen = edges[which];
    bool is_black = any(lessThan(place, open.xy)) || any(greaterThan(place, open.zw))
        || any(lessThan(under, seen.xy)) || any(greaterThan(under, seen.zw));
    vec2 texel = 0.5 / vec2(is_other ? textureSize(other, 0) : textureSize(graded, 0));
    vec2 within = clamp(under, seen.xy + texel, seen.zw - texel);
    vec3 signal = is_other ? texture(other, within).rgb : texture(graded, within).rgb;
    if (is_black) signal = vec3(0.0);
    vec3 code = monitor_code(signal);
    bool out_of = any(lessThan(signal, vec3(limits.x))) || any(greaterThan(signal, vec3(limits.y)));
    if (is_judged) out_of = !is_other && texture(judged, place).r > 0.5;
    if (limits.x < limits.y && out_of && mod(at.x + at.y, 8.0) < 4.0) code = vec3(1.0) - code;
    if (abs(beyond) * area.w < line) code = vec3(0.6);
    shown = vec4(code + (noise(at) - 0.5) / 255.0, 1.0);
}}
"""


class Canvas:
    """A texture that can be drawn into and read."""

    def __init__(self, inner: int) -> None:
        self.size = (0, 0)
        self._inner = inner
        self.texture = int(GL.glGenTextures(1))
        self._framebuffer = int(GL.glGenFramebuffers(1))

    def bind(self, size: tuple[int, int]) -> None:
        """Make this, at that size, what is drawn into."""
        GL.glBindFramebuffer(GL.GL_FRAMEBUFFER, self._framebuffer)
        if size != self.size:
            self.size = size
            _texture(self.texture, self._inner, size, None)
            GL.glFramebufferTexture2D(
                GL.GL_FRAMEBUFFER, GL.GL_COLOR_ATTACHMENT0, GL.GL_TEXTURE_2D, self.texture, 0
            )

    def write(self, picture: Picture) -> None:
        """Put a picture (3, height, width) in."""
        self.bind((picture.shape[2], picture.shape[1]))
        _texture(self.texture, self._inner, self.size, texels(picture, np.float32))

    def read(self) -> Picture:
        """Return what was drawn, (3, height, width)."""
        width, height = self.size
        texels = np.empty((height, width, 4), np.float32)
        GL.glBindFramebuffer(GL.GL_FRAMEBUFFER, self._framebuffer)
        GL.glReadPixels(0, 0, width, height, GL.GL_RGBA, GL.GL_FLOAT, c_void_p(texels.ctypes.data))
        return np.ascontiguousarray(np.moveaxis(texels[..., :3], -1, 0))

    def delete(self) -> None:
        """Give it back to GL."""
        GL.glDeleteTextures([self.texture])
        GL.glDeleteFramebuffers(1, [self._framebuffer])


@dataclass(frozen=True, slots=True)
class Scanned:
    """A frame of the scan at one raster: its texture, and its picture (3, h, w)."""

    texture: int
    picture: Picture


class Painter:
    """Holds one frame of the scan, at one raster or two, and draws what chains make of it.

    Needs a GL 3.3 context, on its thread.
    """

    def __init__(self) -> None:
        self.chain = ChainShader()
        self.graded, self.other = Canvas(GL.GL_RGBA16F), Canvas(GL.GL_RGBA16F)
        self._shown = Canvas(GL.GL_RGBA8)
        self._judged = int(GL.glGenTextures(1))
        self._scans: dict[int, Scanned] = {}
        self._corners = int(GL.glGenVertexArrays(1))
        self._display = linked(_DISPLAY)
        self._called: list[int] = []
        self._processor = open_run()

    def take(self, frame: Frame) -> None:
        """Take a frame of the scan, at all of its rasters."""
        for divide in frame.divides:
            picture = frame.picture(divide)
            _, height, width = picture.shape
            before = self._scans.get(divide)
            texture = before.texture if before else int(GL.glGenTextures(1))
            is_same = before is not None and before.picture.shape == picture.shape
            _texture(texture, GL.GL_RGBA16F, (width, height), texels(picture), is_same)
            self._scans[divide] = Scanned(texture, picture)

    def draw(
        self, canvas: Canvas, divide: int, program: Expression, inputs: Inputs, pixel_aspect: float
    ) -> None:
        """Draw what `program` makes of the frame that was taken at `divide` into a canvas.

        Plain functions of arrays, which no shader can do, are done on the processor before. Raises BadInput
        for what one of them raises.
        """
        scanned = self._scans[divide]
        raster = scanned.picture.shape[2], scanned.picture.shape[1]
        pictures = {SCAN: scanned.texture}
        calls = self.chain.settled(program).calls
        if calls:
            run = partial(self._processor.run, pixel_aspect=pixel_aspect)
            made = call_pictures(calls, inputs, {SCAN: scanned.picture}, run)
            for index, (name, picture) in enumerate(made.items()):
                if index == len(self._called):
                    self._called.append(int(GL.glGenTextures(1)))
                _texture(self._called[index], GL.GL_RGBA32F, raster, texels(picture, np.float32))
                pictures[name] = self._called[index]
        canvas.bind(raster)
        self.chain.draw(program, inputs, pictures, raster, pixel_aspect)

    def mark(self, beyond: NDArray[np.bool_]) -> None:
        """Take which pixels of the frame (h, w) are striped where `look.is_judged`."""
        write_texture(self._judged, np.repeat(beyond[..., None].astype(np.uint8) * 255, 4, axis=2))
        for name in (GL.GL_TEXTURE_MIN_FILTER, GL.GL_TEXTURE_MAG_FILTER):
            GL.glTexParameteri(GL.GL_TEXTURE_2D, name, GL.GL_NEAREST)

    def show(self, look: Look) -> int:
        """Return the texture, of `look.size`, of the picture as the monitor is to show it.

        `edge` is a wipe's, as `Comparison.edge` has it: beyond it the other canvas is seen, or the surround
        where there is none; also from the column `seam` to the right, where it is not 0. Each lies in the
        frame as its `Lie` says, between its pixels straight. Pixels of signal outside `limits` are striped,
        or those of `mark`.
        """
        self._shown.bind(look.size)
        for what in (GL.GL_BLEND, GL.GL_SCISSOR_TEST, GL.GL_DEPTH_TEST, GL.GL_CULL_FACE):
            GL.glDisable(what)
        GL.glUseProgram(self._display)
        for unit, (name, canvas) in enumerate((("graded", self.graded), ("other", self.other))):
            GL.glActiveTexture(GL.GL_TEXTURE0 + unit)
            GL.glBindTexture(GL.GL_TEXTURE_2D, canvas.texture)
            GL.glUniform1i(self._location(name), unit)
        GL.glActiveTexture(GL.GL_TEXTURE2)
        GL.glBindTexture(GL.GL_TEXTURE_2D, self._judged)
        GL.glUniform1i(self._location("judged"), 2)
        GL.glUniform1i(self._location("is_judged"), look.is_judged)
        GL.glActiveTexture(GL.GL_TEXTURE0)
        area = look.area
        GL.glUniform4f(self._location("area"), area.left, area.top, area.width, area.height)
        for index, lie in enumerate((look.lie, look.other or NOTHING)):
            GL.glUniform3f(self._location(f"across[{index}]"), *lie.across)
            GL.glUniform3f(self._location(f"down[{index}]"), *lie.down)
            GL.glUniform4f(self._location(f"edges[{index}]"), *lie.edges)
            GL.glUniform4f(self._location(f"window[{index}]"), *lie.window)
        GL.glUniform3f(self._location("edge"), *look.edge)
        GL.glUniform1f(self._location("seam"), look.seam)
        GL.glUniform1f(self._location("line"), 0.75 * look.scale)
        GL.glUniform2f(self._location("limits"), *look.limits)
        GL.glViewport(0, 0, *look.size)
        GL.glBindVertexArray(self._corners)
        GL.glDrawArrays(GL.GL_TRIANGLES, 0, 3)
        GL.glBindFramebuffer(GL.GL_FRAMEBUFFER, 0)
        return self._shown.texture

    def delete(self) -> None:
        """Give everything back to GL."""
        self.chain.delete()
        for canvas in (self.graded, self.other, self._shown):
            canvas.delete()
        GL.glDeleteTextures(
            [*(scanned.texture for scanned in self._scans.values()), *self._called, self._judged]
        )
        self._processor.close()
        GL.glDeleteVertexArrays(1, [self._corners])
        GL.glDeleteProgram(self._display)

    def _location(self, name: str) -> int:
        return int(GL.glGetUniformLocation(self._display, name))


def write_texture(texture: int, pixels: NDArray[np.uint8]) -> None:
    """Put R'G'B'A codes (height, width, 4) into a texture."""
    height, width = pixels.shape[:2]
    _texture(texture, GL.GL_RGBA8, (width, height), np.ascontiguousarray(pixels))


def _texture(
    texture: int, inner: int, size: tuple[int, int], texels: NDArray[Any] | None, is_same: bool = False
) -> None:
    kinds: Mapping[str, int] = {"e": GL.GL_HALF_FLOAT, "f": GL.GL_FLOAT, "B": GL.GL_UNSIGNED_BYTE}
    kind = kinds[texels.dtype.char] if texels is not None else GL.GL_FLOAT
    GL.glBindTexture(GL.GL_TEXTURE_2D, texture)
    if is_same:
        GL.glTexSubImage2D(GL.GL_TEXTURE_2D, 0, 0, 0, *size, GL.GL_RGBA, kind, texels)
        return
    for name in (GL.GL_TEXTURE_MIN_FILTER, GL.GL_TEXTURE_MAG_FILTER):
        GL.glTexParameteri(GL.GL_TEXTURE_2D, name, GL.GL_LINEAR)
    for name in (GL.GL_TEXTURE_WRAP_S, GL.GL_TEXTURE_WRAP_T):
        GL.glTexParameteri(GL.GL_TEXTURE_2D, name, GL.GL_CLAMP_TO_EDGE)
    GL.glTexImage2D(GL.GL_TEXTURE_2D, 0, inner, *size, 0, GL.GL_RGBA, kind, texels)
