"""A frame's own codes in textures of integers, and what they mean drawn as R'G'B'."""

from __future__ import annotations

from collections import OrderedDict
from concurrent.futures import ThreadPoolExecutor
from ctypes import c_char
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from lamphouse.graph.media.codes.decode_planes import Coded
from lamphouse.viewer.glsl.decoding import Kind, decoder_of
from lamphouse.viewer.glsl.opengl import GL
from lamphouse.viewer.glsl.samples import Plane, laid_out
from lamphouse.viewer.glsl.shader import fill, linked

if TYPE_CHECKING:
    from lamphouse.graph.media.scan.scan import Source

PLANES: Final = 3  # that are copied at a time
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
        self._copying = ThreadPoolExecutor(PLANES, thread_name_prefix="planes")
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
        textures = self._textures[: len(arrays)]
        rooms = [texture.room(samples) for texture, samples in zip(textures, arrays, strict=True)]
        list(self._copying.map(np.copyto, rooms, arrays))
        for texture, room in zip(textures, rooms, strict=True):
            texture.write(room)
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
        if self._textures:
            GL.glDeleteBuffers(len(self._textures), [texture.buffer for texture in self._textures])
        self._copying.shutdown()
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
        self.buffer = int(GL.glGenBuffers(1))
        self._held: tuple[Any, ...] = ()

    def room(self, samples: Plane) -> Plane:
        """Return memory that GL gives for samples (h, n); then `write` them."""
        GL.glBindBuffer(GL.GL_PIXEL_UNPACK_BUFFER, self.buffer)
        GL.glBufferData(GL.GL_PIXEL_UNPACK_BUFFER, samples.size * samples.itemsize, None, GL.GL_STREAM_DRAW)
        how = GL.GL_MAP_WRITE_BIT | GL.GL_MAP_INVALIDATE_BUFFER_BIT
        size = samples.size * samples.itemsize
        address = GL.glMapBufferRange(GL.GL_PIXEL_UNPACK_BUFFER, 0, size, how)
        GL.glBindBuffer(GL.GL_PIXEL_UNPACK_BUFFER, 0)
        memory: Any = (c_char * size).from_address(address)
        return np.frombuffer(memory, samples.dtype).reshape(samples.shape)

    def write(self, room: Plane) -> None:
        """Put the samples (h, n) in that lie in what `room` gave."""
        kind = room.dtype.str[1:]
        inner, form, type_ = _FORMATS[kind]
        size = room.shape[1], room.shape[0]
        GL.glBindTexture(GL.GL_TEXTURE_2D, self.number)
        if self._held != (kind, size):
            self._held = (kind, size)
            for name in (GL.GL_TEXTURE_MIN_FILTER, GL.GL_TEXTURE_MAG_FILTER):
                GL.glTexParameteri(GL.GL_TEXTURE_2D, name, GL.GL_NEAREST)
            GL.glTexImage2D(GL.GL_TEXTURE_2D, 0, inner, *size, 0, form, type_, None)
        GL.glBindBuffer(GL.GL_PIXEL_UNPACK_BUFFER, self.buffer)
        GL.glUnmapBuffer(GL.GL_PIXEL_UNPACK_BUFFER)
        GL.glPixelStorei(GL.GL_UNPACK_ALIGNMENT, 1)
        GL.glTexSubImage2D(GL.GL_TEXTURE_2D, 0, 0, 0, *size, form, type_, None)
        GL.glPixelStorei(GL.GL_UNPACK_ALIGNMENT, 4)
        GL.glBindBuffer(GL.GL_PIXEL_UNPACK_BUFFER, 0)
