"""Tables as textures of floats: made once, and written again only where their numbers changed."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Hashable
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.primitive import Form
from lamphouse.viewer.glsl.opengl import GL
from lamphouse.viewer.glsl.primitives import ROW

Array = NDArray[Any]

# Constant tables that are kept: more than one shader can read, few enough to fit anywhere.
KEPT: Final = 32


def pairs(table: Array) -> NDArray[np.float32]:
    """Return a table (3, size) as texels of an entry and the next, in rows: (3 * rows, ROW, 2)."""
    last = table.shape[1] - 1
    rows = (last - 1) // ROW + 1
    texels = np.zeros((3, rows * ROW, 2), np.float32)
    texels[:, :last, 0], texels[:, :last, 1] = table[:, :-1], table[:, 1:]
    return texels.reshape(3 * rows, ROW, 2)


def nodes(table: Array) -> NDArray[np.float32]:
    """Return a lattice (size, size, size, 3) as texels of four numbers, which every GL reads fastest."""
    texels = np.zeros((*table.shape[:3], 4), np.float32)
    texels[..., :3] = table
    return texels


class TableTexture:
    """The texture of one table, which may come to hold another of its shape or not."""

    def __init__(self, form: Form) -> None:
        self.number = int(GL.glGenTextures(1))
        self._form = form
        self._array: Array | None = None
        self.target = GL.GL_TEXTURE_2D if form is Form.TABLE else GL.GL_TEXTURE_3D

    def write(self, array: Array) -> None:
        """Put `array` into the texture, unless it is what is there."""
        before, self._array = self._array, array
        if before is array or (before is not None and np.array_equal(before, array)):
            return
        texels = pairs(array) if self._form is Form.TABLE else nodes(array)
        GL.glBindTexture(self.target, self.number)
        if before is not None and before.shape == array.shape:
            self._overwrite(texels)
        else:
            self._fill(texels)

    def delete(self) -> None:
        """Give the texture back to GL."""
        GL.glDeleteTextures([self.number])

    def _fill(self, texels: NDArray[np.float32]) -> None:
        for name in (GL.GL_TEXTURE_MIN_FILTER, GL.GL_TEXTURE_MAG_FILTER):
            GL.glTexParameteri(self.target, name, GL.GL_NEAREST)
        GL.glTexParameteri(self.target, GL.GL_TEXTURE_MAX_LEVEL, 0)
        if self._form is Form.TABLE:
            height, width = texels.shape[:2]
            GL.glTexImage2D(self.target, 0, GL.GL_RG32F, width, height, 0, GL.GL_RG, GL.GL_FLOAT, texels)
        else:
            size = texels.shape[0]
            GL.glTexImage3D(
                self.target, 0, GL.GL_RGBA32F, size, size, size, 0, GL.GL_RGBA, GL.GL_FLOAT, texels
            )

    def _overwrite(self, texels: NDArray[np.float32]) -> None:
        if self._form is Form.TABLE:
            height, width = texels.shape[:2]
            GL.glTexSubImage2D(self.target, 0, 0, 0, width, height, GL.GL_RG, GL.GL_FLOAT, texels)
        else:
            size = texels.shape[0]
            GL.glTexSubImage3D(self.target, 0, 0, 0, 0, size, size, size, GL.GL_RGBA, GL.GL_FLOAT, texels)


class ConstantTables:
    """Textures of tables that never change, kept by the identity of their arrays; the longest unused go."""

    def __init__(self) -> None:
        self._textures: OrderedDict[Hashable, tuple[Array, TableTexture]] = OrderedDict()

    def __len__(self) -> int:
        return len(self._textures)

    def texture(self, array: Array, form: Form) -> TableTexture:
        """Return the texture of `array`."""
        key = (id(array), form)  # the array is held here: no other can come to have its identity
        if key not in self._textures:
            texture = TableTexture(form)
            texture.write(array)
            self._textures[key] = (array, texture)
            if len(self._textures) > KEPT:
                self._textures.popitem(last=False)[1][1].delete()
        self._textures.move_to_end(key)
        return self._textures[key][1]

    def delete(self) -> None:
        """Give all textures back to GL."""
        for _, texture in self._textures.values():
            texture.delete()
        self._textures.clear()
