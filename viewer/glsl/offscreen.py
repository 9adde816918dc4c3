"""Graphics without a display: a GL context of its own, for tests and for a picture of the desk as a file."""

from __future__ import annotations

from ctypes import c_void_p
from types import TracebackType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.glsl.context import opened


class Offscreen:
    """A GL 3.3 core context that draws into float32 R'G'B'A of `size`, (width, height), and no window.

    Use as a context manager, and only where no other window of this process is open. Raises BadInput where
    no such context can be made.
    """

    def __init__(self, size: tuple[int, int]) -> None:
        self.size = size
        self._gl: Any = None
        self._glfw: Any = None
        self._window: Any = None
        self._textures: list[int] = []

    def __enter__(self) -> Offscreen:
        try:
            from lamphouse.viewer.glsl.opengl import GL, glfw
        except (ImportError, OSError, AttributeError) as error:
            raise BadInput(
                f"There are no graphics here ({error}); install the desk's libraries with Lamphouse."
            ) from error
        self._gl, self._glfw = GL, glfw
        self._window = opened(glfw, is_seen=False)
        glfw.make_context_current(self._window)
        self._framebuffer = int(GL.glGenFramebuffers(1))
        self._drawn = self._texture(None)
        self.bind()
        GL.glFramebufferTexture2D(
            GL.GL_FRAMEBUFFER, GL.GL_COLOR_ATTACHMENT0, GL.GL_TEXTURE_2D, self._drawn, 0
        )
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._gl.glDeleteTextures(self._textures)
        self._gl.glDeleteFramebuffers(1, [self._framebuffer])
        self._glfw.destroy_window(self._window)
        self._glfw.terminate()

    def bind(self) -> None:
        """Make this what is drawn into."""
        self._gl.glBindFramebuffer(self._gl.GL_FRAMEBUFFER, self._framebuffer)

    def upload(self, picture: NDArray[np.floating[Any]]) -> int:
        """Return a texture of a picture (3, height, width) of this size. It lasts as long as the context."""
        width, height = self.size
        texels = np.ones((height, width, 4), np.float32)
        texels[..., :3] = np.moveaxis(picture, 0, -1)
        return self._texture(texels)

    def read(self) -> NDArray[np.float32]:
        """Return what was drawn, (3, height, width)."""
        gl, (width, height) = self._gl, self.size
        texels = np.empty((height, width, 4), np.float32)
        self.bind()
        gl.glReadPixels(0, 0, width, height, gl.GL_RGBA, gl.GL_FLOAT, c_void_p(texels.ctypes.data))
        return np.ascontiguousarray(np.moveaxis(texels[..., :3], -1, 0))

    def _texture(self, texels: NDArray[np.float32] | None) -> int:
        gl, (width, height) = self._gl, self.size
        texture = int(gl.glGenTextures(1))
        self._textures.append(texture)
        gl.glBindTexture(gl.GL_TEXTURE_2D, texture)
        for name in (gl.GL_TEXTURE_MIN_FILTER, gl.GL_TEXTURE_MAG_FILTER):
            gl.glTexParameteri(gl.GL_TEXTURE_2D, name, gl.GL_NEAREST)
        gl.glTexImage2D(gl.GL_TEXTURE_2D, 0, gl.GL_RGBA32F, width, height, 0, gl.GL_RGBA, gl.GL_FLOAT, texels)
        return texture
