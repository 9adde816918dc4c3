"""A frame's own codes in textures of integers, and what they mean drawn as R'G'B'."""

from __future__ import annotations

from collections import OrderedDict
from ctypes import c_void_p
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

from lamphouse.graph.media.codes.decode_planes import Coded
from lamphouse.viewer.glsl.decoding import Kind, decoder_of
from lamphouse.viewer.glsl.opengl import GL
from lamphouse.viewer.glsl.samples import Plane, laid_out
from lamphouse.viewer.glsl.shader import fill, linked

if TYPE_CHECKING:
    from lamphouse.graph.media.scan.scan import Source

KEPT: Final = 16  # shaders: more than one reel has kinds of frames, at all rasters
# By the bytes of a sample and its kind: what GL holds, what it is given as, and the type.
_FORMATS: Final = {
    "u1": (GL.GL_R8UI, GL.GL_RED_INTEGER, GL.GL_UNSIGNED_BYTE),
    "u2": (GL.GL_R16UI, GL.GL_RED_INTEGER, GL.GL_UNSIGNED_SHORT),
    "f4": (GL.GL_R32F, GL.GL_RED, GL.GL_FLOAT),
}


class Planes:
    """One frame as its file holds it. Needs a GL 3.3 context, on its thread."""

    def __init__(self) -> None:
        self._textures: list[_Texture] = []
        self._programs: OrderedDict[str, int] = OrderedDict()
        self._corners = int(GL.glGenVertexArrays(1))
        self._widest = int(GL.glGetIntegerv(GL.GL_MAX_TEXTURE_SIZE))
        self._kind: Kind | None = None

    def take(self, source: Source) -> None:
        """Take a frame: its codes, or its R'G'B' (3, h, w) where that is what the file holds."""
        planes = source.planes if isinstance(source, Coded) else tuple(source)
        arrays, parts = laid_out(planes, self._widest)
        while len(self._textures) < len(arrays):
            self._textures.append(_Texture())
        for texture, samples in zip(self._textures, arrays, strict=False):
            texture.write(samples)
        meant = replace(source, planes=()) if isinstance(source, Coded) else None
        sizes = tuple((plane.shape[1], plane.shape[0]) for plane in planes)
        self._kind = Kind(meant, parts, sizes, not planes[0].dtype.isnative, 1)

    def draw(self, divide: int) -> None:
        """Draw the frame as R'G'B' into what is bound: `smaller(to_rgb(codes), divide)`."""
        kind = self._at(divide)
        GL.glUseProgram(self._program(decoder_of(kind)))
        for unit, texture in enumerate(self._textures):
            GL.glActiveTexture(GL.GL_TEXTURE0 + unit)
            GL.glBindTexture(GL.GL_TEXTURE_2D, texture.number)
        fill(self._corners, kind.raster)

    def delete(self) -> None:
        """Give everything back to GL."""
        for program in self._programs.values():
            GL.glDeleteProgram(program)
        GL.glDeleteTextures([texture.number for texture in self._textures])
        GL.glDeleteVertexArrays(1, [self._corners])

    def _at(self, divide: int) -> Kind:
        assert self._kind is not None
        return replace(self._kind, divide=divide)

    def _program(self, text: str) -> int:
        if text not in self._programs:
            program = self._programs[text] = linked(text)
            GL.glUseProgram(program)
            for unit in range(3):
                GL.glUniform1i(GL.glGetUniformLocation(program, f"plane_{unit}"), unit)
            if len(self._programs) > KEPT:
                GL.glDeleteProgram(self._programs.popitem(last=False)[1])
        self._programs.move_to_end(text)
        return self._programs[text]


class _Texture:
    """A texture of samples, which is made anew only where they are others in number or kind."""

    def __init__(self) -> None:
        self.number = int(GL.glGenTextures(1))
        self._held: tuple[Any, ...] = ()

    def write(self, samples: Plane) -> None:
        """Put samples (h, n) in, whose lines may lie apart."""
        kind = samples.dtype.str[1:]
        inner, form, type_ = _FORMATS[kind]
        size = samples.shape[1], samples.shape[0]
        GL.glBindTexture(GL.GL_TEXTURE_2D, self.number)
        if self._held != (kind, size):
            self._held = (kind, size)
            for name in (GL.GL_TEXTURE_MIN_FILTER, GL.GL_TEXTURE_MAG_FILTER):
                GL.glTexParameteri(GL.GL_TEXTURE_2D, name, GL.GL_NEAREST)
            GL.glTexImage2D(GL.GL_TEXTURE_2D, 0, inner, *size, 0, form, type_, None)
        GL.glPixelStorei(GL.GL_UNPACK_ALIGNMENT, 1)
        GL.glPixelStorei(GL.GL_UNPACK_ROW_LENGTH, samples.strides[0] // samples.itemsize)
        GL.glTexSubImage2D(GL.GL_TEXTURE_2D, 0, 0, 0, *size, form, type_, c_void_p(samples.ctypes.data))
        GL.glPixelStorei(GL.GL_UNPACK_ROW_LENGTH, 0)
        GL.glPixelStorei(GL.GL_UNPACK_ALIGNMENT, 4)
