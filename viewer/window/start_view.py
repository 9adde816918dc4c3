"""The start page in the window: drawn when something came, and left for a reel."""

from __future__ import annotations

from typing import Final

from imgui_bundle import imgui

from lamphouse.graph.files.folders import settings_folder
from lamphouse.viewer.models.keys import KeyBook, own_keys
from lamphouse.viewer.models.starting import Starting
from lamphouse.viewer.panels.start.page import start_page
from lamphouse.viewer.turn.decide import LONGEST, SETTLING
from lamphouse.viewer.window.window import Window

TYPING: Final = LONGEST // 4  # from one drawing to the next while a caret blinks


class StartView:
    """The turns of the start page."""

    is_over = False

    def __init__(self, window: Window, starting: Starting) -> None:
        self._window, self._starting = window, starting
        self._settling = SETTLING
        self._is_typing = False
        self._keys = KeyBook()

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
        if self._starting.take_news() or is_woken or self._is_typing:
            self._settling = SETTLING
        if self._settling:
            self._settling -= 1
            self._draw()
        if self._settling:
            return 0
        return TYPING if self._is_typing else LONGEST

    def _draw(self) -> None:
        starting, io = self._starting, imgui.get_io()
        io.config_flags |= imgui.ConfigFlags_.nav_enable_keyboard
        inputs = self._window.begin()
        self._is_typing = inputs.is_typing
        if inputs.dropped is not None:
            starting.take(inputs.dropped)
        pressed = [self._keys.name_of(press) for press in inputs.pressed]
        if inputs.asks_to_close or "leave" in pressed:
            starting.leave()
        if "start_page" in pressed:
            starting.go_back()
        start_page(starting, self._window.scale)
        imgui.render()
        self._window.present()
        io.config_flags &= ~imgui.ConfigFlags_.nav_enable_keyboard
