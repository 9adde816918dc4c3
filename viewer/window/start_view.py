"""The start page in the window: drawn when something came, and left for a reel."""

from __future__ import annotations

import time
from collections.abc import Mapping
from typing import Final

import numpy as np
from imgui_bundle import imgui
from numpy.typing import NDArray

from lamphouse.graph.files.folders import settings_folder
from lamphouse.viewer.glsl.opengl import GL
from lamphouse.viewer.models.keys import KeyBook, own_keys
from lamphouse.viewer.models.lately import Codes
from lamphouse.viewer.models.monitors import MONITORS, SRGB
from lamphouse.viewer.models.new_reel import Tryout
from lamphouse.viewer.models.starting import Starting
from lamphouse.viewer.panels.start.new_reel import Small
from lamphouse.viewer.panels.start.page import start_page
from lamphouse.viewer.picture.film_strip import shown_codes
from lamphouse.viewer.picture.painter import write_texture
from lamphouse.viewer.turn.decide import LONGEST, SETTLING
from lamphouse.viewer.window.window import Window

Pictures = Mapping[str, Codes] | Mapping[str, Tryout]
TYPING: Final = LONGEST // 4  # from one drawing to the next while a caret blinks


class StartView:
    """The turns of the start page."""

    is_over = False

    def __init__(self, window: Window, starting: Starting) -> None:
        self._window, self._starting = window, starting
        self._settling = SETTLING
        self._is_typing = False
        self._drawn_at = 0
        self._keys = KeyBook()
        self._drawn: Pictures = {}  # what the textures hold
        self._textures: dict[str, Small] = {}

    def close(self) -> None:
        """Let the textures go."""
        self._forget()

    def show(self) -> None:
        """Take the window."""
        self._keys, _ = own_keys(settings_folder())  # the desk may have changed them
        self._window.name("")
        self._settling = SETTLING

    @property
    def is_settled(self) -> bool:
        """Whether nothing is still being read or made for the page."""
        return not self._starting.is_busy

    def turn(self, *, is_woken: bool = True) -> int:
        """Draw the page where there is something new; return the nanoseconds until it has to be again."""
        if self._starting.take_news() or is_woken:
            self._settling = SETTLING
        elif self._is_typing and time.monotonic_ns() - self._drawn_at >= TYPING:
            self._settling = max(self._settling, 1)  # the field's cursor blinks
        if self._settling:
            self._settling -= 1
            self._drawn_at = time.monotonic_ns()
            self._draw()
        if self._settling:
            return 0
        return TYPING if self._is_typing else LONGEST

    def _small(self) -> dict[str, Small]:
        """Return the pictures of the page: of stocks by their names, of reels by their paths."""
        new = self._starting.new
        pictures = self._starting.pictures if new is None else new.tryouts
        if pictures is not self._drawn:
            self._forget()
            self._drawn = pictures
            self._textures = {name: _written(codes) for name, codes in _codes(pictures).items()}
        return self._textures

    def _forget(self) -> None:
        if self._textures:
            GL.glDeleteTextures([small.texture for small in self._textures.values()])
            self._textures = {}

    def _draw(self) -> None:
        starting, io = self._starting, imgui.get_io()
        scale = self._window.fitted()
        io.config_flags |= imgui.ConfigFlags_.nav_enable_keyboard
        inputs = self._window.begin()
        self._is_typing = inputs.is_typing
        if inputs.dropped is not None:
            starting.take(inputs.dropped)
        pressed = [self._keys.name_of(press) for press in inputs.pressed]
        if inputs.asks_to_close or "leave" in pressed:
            starting.leave()
        for name, way in (("larger", 1), ("smaller", -1)):
            if name in pressed:
                starting.message = self._window.preferred.resize(way)
        if "start_page" in pressed:
            starting.go_back()
        start_page(starting, scale, self._small())
        imgui.render()
        self._window.present()
        io.config_flags &= ~imgui.ConfigFlags_.nav_enable_keyboard


def _codes(pictures: Pictures) -> dict[str, Codes]:
    """Return the codes of those that are there, as the monitor shows them."""
    found: dict[str, Codes] = {}
    for name, picture in pictures.items():
        if not isinstance(picture, Tryout):
            found[name] = picture
        elif picture.picture is not None:
            found[name] = shown_codes(picture.picture, MONITORS[SRGB])
    return found


def _written(codes: NDArray[np.uint8]) -> Small:
    height, width, _ = codes.shape
    texels = np.full((height, width, 4), 255, np.uint8)
    texels[..., :3] = codes
    texture = int(GL.glGenTextures(1))
    write_texture(texture, texels)
    return Small(texture, width, height)
