"""The picture on the graphics processor: the scan's frame, the chain over it, and the step to the monitor.

The chain is drawn at the raster of what was read, into floats; the display step alone knows the window.
Where GL itself runs on the processor, chains run there as machine code, a fifth of what their shaders take.
"""

from __future__ import annotations

from ctypes import c_void_p
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.back_end import open_run
from lamphouse.graph.chain.known import Inputs
from lamphouse.graph.chain.order import SCAN
from lamphouse.nodes.trace import Expression
from lamphouse.viewer.glsl.opengl import GL
from lamphouse.viewer.glsl.settled import call_pictures
from lamphouse.viewer.glsl.shader import ChainShader
from lamphouse.viewer.models.monitors import Monitor
from lamphouse.viewer.models.scanned import Frame
from lamphouse.viewer.picture.display_step import DisplayStep
from lamphouse.viewer.picture.guide_lines import GuideLines
from lamphouse.viewer.picture.passing import Passing, is_straight, monitor_codes
from lamphouse.viewer.picture.planes import Planes
from lamphouse.viewer.turn.display import Look, Place

Picture = NDArray[np.float32]


class Canvas:
    """A texture that can be drawn into and read."""

    def __init__(self, inner: int) -> None:
        self.size = (0, 0)
        self.written: Picture | None = None  # what it holds, where that was not drawn
        self._is_up = True  # whether the texture holds it too
        self._inner = inner
        self._texture = int(GL.glGenTextures(1))
        self._framebuffer = int(GL.glGenFramebuffers(1))

    @property
    def texture(self) -> int:
        """The texture, which takes what was written when somebody comes to draw it."""
        if not self._is_up and self.written is not None:
            _texture(self._texture, self._inner, self.size, texels(self.written))
            self._is_up = True
        return self._texture

    def bind(self, size: tuple[int, int]) -> None:
        """Make this, at that size, what is drawn into."""
        self.written = None
        GL.glBindFramebuffer(GL.GL_FRAMEBUFFER, self._framebuffer)
        if size != self.size:
            self.size = size
            _texture(self._texture, self._inner, size, None)
            GL.glFramebufferTexture2D(
                GL.GL_FRAMEBUFFER, GL.GL_COLOR_ATTACHMENT0, GL.GL_TEXTURE_2D, self._texture, 0
            )

    def write(self, picture: Picture) -> None:
        """Put a picture (3, height, width) in."""
        self.bind((picture.shape[2], picture.shape[1]))
        self.written, self._is_up = picture, False

    def read(self) -> Picture:
        """Return what was drawn or written, (3, height, width)."""
        if self.written is not None:
            return self.written
        width, height = self.size
        texels = np.empty((height, width, 4), np.float32)
        GL.glBindFramebuffer(GL.GL_FRAMEBUFFER, self._framebuffer)
        GL.glReadPixels(0, 0, width, height, GL.GL_RGBA, GL.GL_FLOAT, c_void_p(texels.ctypes.data))
        return np.ascontiguousarray(np.moveaxis(texels[..., :3], -1, 0))

    def read_some(self, small: Canvas, most: int) -> Picture:
        """Return the same, where it is wider than `most` pixels by some of its pixels, by way of a canvas."""
        width, height = self.size
        if self.written is not None or width <= most:
            return self.read()
        size = most, max(1, round(height * most / width))
        small.bind(size)
        GL.glBindFramebuffer(GL.GL_READ_FRAMEBUFFER, self._framebuffer)
        GL.glBlitFramebuffer(
            0, 0, width, height, 0, 0, *size, GL.GL_COLOR_BUFFER_BIT, GL.GL_NEAREST
        )  # no means: what lies beyond the ends is to be seen there
        return small.read()

    def delete(self) -> None:
        """Give it back to GL."""
        GL.glDeleteTextures([self._texture])
        GL.glDeleteFramebuffers(1, [self._framebuffer])


class Painter:
    """Holds one frame of the scan, and draws what chains make of it at any of its rasters.

    Needs a GL 3.3 context, on its thread. `has_shaders` says whether chains are drawn by GL.
    """

    def __init__(self, *, has_shaders: bool) -> None:
        self._has_shaders = has_shaders
        self.chain = ChainShader()
        inner = GL.GL_RGBA16F if has_shaders else GL.GL_RGBA32F  # which takes floats as they are
        self.graded, self.other, self.matte = Canvas(inner), Canvas(inner), Canvas(inner)
        self.shown: dict[Place, Canvas] = {}
        self._some = Canvas(inner)
        self._judged = int(GL.glGenTextures(1))
        self._codes = int(GL.glGenTextures(1))
        self._coded: tuple[Picture, Monitor] | None = None  # what those codes are of
        self._passing: Passing | None = None
        self._planes = Planes()
        self._frame: Frame | None = None
        self._decoded: dict[int, Canvas] = {}  # in float32, by what divides the raster
        self._are_new: set[int] = set()  # those that are of the frame that was taken last
        self._steps: dict[Monitor, DisplayStep] = {}
        self._called: list[int] = []
        self._lines = GuideLines()
        self._processor = open_run()

    def take(self, frame: Frame) -> None:
        """Take a frame of the scan."""
        self._frame, self._are_new = frame, set()
        if self._has_shaders:
            self._planes.take(frame.coded)

    def draw(
        self, canvas: Canvas, divide: int, program: Expression, inputs: Inputs, pixel_aspect: float
    ) -> None:
        """Draw what `program` makes of the frame that was taken, its raster divided, into a canvas.

        Raises BadInput for what a plain function of arrays raises: those are done on the processor.
        """
        assert self._frame is not None
        frame = self._frame
        if not self._has_shaders:
            scan = frame.coded if frame.by(divide) == 1 else frame.picture(divide)
            canvas.write(self._processor.run(program, {SCAN: scan}, pixel_aspect, inputs))
            return
        pictures, raster = self._textures(frame, divide, program, inputs, pixel_aspect), frame.raster(divide)
        canvas.bind(raster)
        self.chain.draw(program, inputs, pictures, raster, pixel_aspect)

    def _textures(
        self, frame: Frame, divide: int, program: Expression, inputs: Inputs, pixel_aspect: float
    ) -> dict[str, int]:
        """Return the textures that a program's shader reads, by name: the scan's, and those of its calls."""
        textures = {SCAN: self._scan(frame, divide)}
        calls = self.chain.settled(program).calls
        if calls:
            run = partial(self._processor.run, pixel_aspect=pixel_aspect)
            made = call_pictures(calls, inputs, {SCAN: frame.picture(divide)}, run)
            for index, (name, picture) in enumerate(made.items()):
                if index == len(self._called):
                    self._called.append(int(GL.glGenTextures(1)))
                _texture(self._called[index], GL.GL_RGBA32F, frame.raster(divide), texels(picture))
                textures[name] = self._called[index]
        return textures

    def _scan(self, frame: Frame, divide: int) -> int:
        """Return the texture of the frame as R'G'B', decoded once a raster."""
        if divide not in self._decoded:
            self._decoded[divide] = Canvas(GL.GL_RGBA32F)
        canvas = self._decoded[divide]
        if divide not in self._are_new:
            self._are_new.add(divide)
            canvas.bind(frame.raster(divide))
            self._planes.draw(frame.by(divide))
        return canvas.texture

    def some_of_graded(self, most: int) -> Picture:
        """Return the graded picture, or where it is wider than `most` some of its pixels."""
        return self.graded.read_some(self._some, most)

    def mark(self, beyond: NDArray[np.bool_]) -> None:
        """Take which pixels of the frame (h, w) are striped where `look.is_judged`."""
        write_texture(self._judged, np.repeat(beyond[..., None].astype(np.uint8) * 255, 4, axis=2))
        for name in (GL.GL_TEXTURE_MIN_FILTER, GL.GL_TEXTURE_MAG_FILTER):
            GL.glTexParameteri(GL.GL_TEXTURE_2D, name, GL.GL_NEAREST)

    def show(self, look: Look, place: Place) -> int:
        """Return the texture, of `look.size`, of the picture as the monitor is to show it.

        `edge` is a wipe's, as `Comparison.edge` has it: beyond it the other canvas is seen, or the surround
        where there is none; also from the column `seam` to the right, where it is not 0. Each lies in the
        frame as its `Lie` says, between its pixels straight. Pixels of signal outside `limits` are striped,
        or those of `mark`.
        """
        if place not in self.shown:
            self.shown[place] = Canvas(GL.GL_RGBA8)
        self.shown[place].bind(look.size)
        self._step(look.monitor).draw(look, self._pictures())
        if look.lines:
            self._lines.draw(look.lines, look.size)
        GL.glBindFramebuffer(GL.GL_FRAMEBUFFER, 0)
        return self.shown[place].texture

    def paint(self, look: Look, height: int) -> None:
        """Draw the same into the window that is bound, `height` pixels high, where `look.corner` says."""
        graded = self.graded.written
        if graded is None or not (look.is_passing and is_straight(look.lie)):
            self._step(look.monitor).paint(look, height, self._pictures())
            return
        if self._coded is None or self._coded[0] is not graded or self._coded[1] != look.monitor:
            write_texture(self._codes, monitor_codes(self._processor, graded, look.monitor))
            self._coded = graded, look.monitor
        self._passing = self._passing or Passing()
        self._passing.paint(look, height, self._codes)

    def _pictures(self) -> dict[str, int]:
        canvases = {"graded": self.graded, "other": self.other, "matte": self.matte}
        return {name: canvas.texture for name, canvas in canvases.items()} | {"judged": self._judged}

    def _step(self, monitor: Monitor) -> DisplayStep:
        if monitor not in self._steps:
            self._steps[monitor] = DisplayStep(monitor)
        return self._steps[monitor]

    def delete(self) -> None:
        """Give everything back to GL."""
        self.chain.delete()
        self._planes.delete()
        for canvas in (
            self.graded,
            self.other,
            self.matte,
            self._some,
            *self.shown.values(),
            *self._decoded.values(),
        ):
            canvas.delete()
        GL.glDeleteTextures([*self._called, self._judged, self._codes])
        self._processor.close()
        self._lines.delete()
        if self._passing is not None:
            self._passing.delete()
        for step in self._steps.values():
            step.delete()


def write_texture(texture: int, pixels: NDArray[np.uint8]) -> None:
    """Put R'G'B'A codes (height, width, 4) into a texture."""
    height, width = pixels.shape[:2]
    _texture(texture, GL.GL_RGBA8, (width, height), np.ascontiguousarray(pixels))


def texels(picture: Picture) -> Picture:
    """Return a picture (3, h, w) as R'G'B'A (h, w, 4), as GL takes what the processor made."""
    made = np.empty((*picture.shape[1:], 4), np.float32)
    for channel, plane in enumerate(picture):  # a plane at a time takes a third of the time of all at once
        made[..., channel] = plane
    made[..., 3] = 1
    return made


def _texture(texture: int, inner: int, size: tuple[int, int], texels: NDArray[Any] | None) -> None:
    kind = GL.GL_UNSIGNED_BYTE if texels is not None and texels.dtype == np.uint8 else GL.GL_FLOAT
    GL.glBindTexture(GL.GL_TEXTURE_2D, texture)
    for name in (GL.GL_TEXTURE_MIN_FILTER, GL.GL_TEXTURE_MAG_FILTER):
        GL.glTexParameteri(GL.GL_TEXTURE_2D, name, GL.GL_LINEAR)
    for name in (GL.GL_TEXTURE_WRAP_S, GL.GL_TEXTURE_WRAP_T):
        GL.glTexParameteri(GL.GL_TEXTURE_2D, name, GL.GL_CLAMP_TO_EDGE)
    GL.glTexImage2D(GL.GL_TEXTURE_2D, 0, inner, *size, 0, GL.GL_RGBA, kind, texels)
