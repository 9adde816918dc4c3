"""The window: GLFW, GL and ImGui, opened once, whatever is shown in it; it sleeps while nothing happens.

The same without a screen draws into a file, for reports, tests and documents.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from types import TracebackType
from typing import Any, Final, Protocol

import numpy as np
from imgui_bundle import ImVec2, imgui
from numpy.typing import NDArray

from lamphouse.nodes.errors import BadInput
from lamphouse.viewer import colours
from lamphouse.viewer.glsl.context import opened
from lamphouse.viewer.glsl.opengl import GL, glfw
from lamphouse.viewer.models.commands.command import Inputs
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.preferences import Preferred
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.panels import look
from lamphouse.viewer.picture.painter import Canvas
from lamphouse.viewer.turn.decide import SETTLING
from lamphouse.viewer.turn.display import Paint, unpainted
from lamphouse.viewer.window.gui import gui
from lamphouse.viewer.window.keyboard import Keyboard, is_typing, key_name
from lamphouse.viewer.window.second import Second
from lamphouse.viewer.window.sizing import limit_size, monitor_scale, scale_of

NAME: Final = "Lamphouse"
SECOND: Final = 1_000_000_000
PATIENCE: Final = 60 * SECOND  # of a picture for a file


class Shown(Protocol):
    """What the window shows: the start page, or a reel at work."""

    @property
    def is_over(self) -> bool:
        """Whether the window may close."""

    @property
    def is_settled(self) -> bool:
        """Whether all that is shown is what there is to show."""

    def turn(self, *, is_woken: bool = True) -> int:
        """Do what is due, and return the nanoseconds until something is again; `is_woken` by an event."""


class Window:
    """A window, or, with `is_seen` False, the same without a screen. Use as a context manager.

    It is the `Surface` of what is shown in it. `scale` is the monitor's where none is given, and moves with
    the window to another; what the person likes goes on top of it.
    """

    def __init__(
        self,
        size: tuple[int, int],
        scale: float = 0.0,
        *,
        is_seen: bool = True,
        preferred: Preferred | None = None,
    ) -> None:
        self._size, self.is_seen, self._asked = size, is_seen, scale
        self.preferred = preferred or Preferred()
        self._window = opened(glfw, size, NAME, is_seen=is_seen)
        glfw.make_context_current(self._window)
        self.scale = 0.0
        self._begin_imgui()
        self._renderer = _renderer(self._window)
        self._keyboard, self._inputs, self._has_come = Keyboard(), Inputs(), True
        self._canvas: Canvas | None = None if is_seen else Canvas(GL.GL_RGBA8)
        self._listen()
        self._second = Second(self._window, self._listen_to_keys) if is_seen else None

    def __enter__(self) -> Window:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.end_alone()
        self._renderer.shutdown()
        imgui.destroy_context()
        glfw.destroy_window(self._window)
        glfw.terminate()

    def name(self, title: str) -> None:
        """Say in the window's frame what is shown."""
        glfw.set_window_title(self._window, f"{title} - {NAME}" if title else NAME)

    @property
    def wake(self) -> Callable[[], None]:
        """What wakes the window from any thread."""
        return glfw.post_empty_event

    def run(self, shown: Shown) -> None:
        """Let a person work until what is shown is over."""
        while not shown.is_over:
            is_woken, self._has_come = self._has_come or self._keyboard.is_behind, False
            sleep = shown.turn(is_woken=is_woken)
            if sleep > 0 and not self._keyboard.is_behind:
                glfw.wait_events_timeout(sleep / SECOND)
            else:
                glfw.poll_events()

    def picture(self, shown: Shown) -> NDArray[np.float32]:
        """Return the window, (3, height, width), once all of it has come to rest."""
        started, rest = time.monotonic_ns(), SETTLING
        while rest:
            shown.turn()
            rest = rest - 1 if shown.is_settled else SETTLING
            if time.monotonic_ns() - started > PATIENCE:
                raise BadInput(
                    "The desk's picture did not come to rest within a minute; see whether the scan is there."
                )
            time.sleep(0.005)
        pixels = self._canvas.read() if self._canvas else np.zeros((3, 1, 1), np.float32)
        return np.clip(pixels[:, ::-1], 0, 1)

    def fitted(self) -> float:
        """Give everything the size that monitor, person and room ask for by now; return the scale."""
        scale = self._asked or 1.0
        if self.is_seen:
            asked = self._asked or monitor_scale(glfw, self._window)
            scale = scale_of(asked, self.preferred.now.text_size, glfw.get_window_size(self._window))
        if scale != self.scale:
            self.scale = scale
            look.put_on(scale)
            if self.is_seen:
                limit_size(glfw, self._window, asked)
        return scale

    def begin(self) -> Inputs:
        """Begin a drawing; return what came since the last."""
        if self.is_seen:
            self._renderer.process_inputs()
        else:
            io = imgui.get_io()
            io.display_size, io.delta_time = ImVec2(*self._size), 1 / 60
        imgui.new_frame()
        inputs, self._inputs = self._inputs, Inputs()
        pressed, let_go = self._keyboard.taken()
        return replace(inputs, pressed=pressed, let_go=let_go, is_typing=is_typing())

    def draw(self, desk: Desk, panels: Panels, seen: Seen) -> None:
        """Draw all panels, and take what was done to them."""
        gui(desk, panels, seen)
        imgui.render()
        if self._second is not None and (trouble := self._second.follow(panels.screens)):
            desk.message = trouble

    def present(self, paint: Paint = unpainted) -> None:
        """Bring what was drawn, over what `paint` draws, to the screen, or into the file's picture."""
        if self._canvas is not None:
            self._canvas.bind(self._size)
        else:
            GL.glBindFramebuffer(GL.GL_FRAMEBUFFER, 0)
        size = self._size if self._canvas else glfw.get_framebuffer_size(self._window)
        GL.glViewport(0, 0, *size)
        GL.glClearColor(*colours.PANEL)
        GL.glClear(GL.GL_COLOR_BUFFER_BIT)
        paint(size[1])
        self._renderer.render(imgui.get_draw_data())
        if self._canvas is None:
            glfw.swap_buffers(self._window)

    def present_alone(self, texture: int, size: tuple[int, int]) -> None:
        """Bring a texture of that size to the screen that shows the picture alone."""
        if self._second is not None:
            self._second.present(texture, size)

    def end_alone(self) -> None:
        """Let the screen go that shows the picture alone."""
        if self._second is not None:
            self._second.close()

    def _begin_imgui(self) -> None:
        imgui.create_context()
        io = imgui.get_io()
        io.set_ini_filename("")
        io.fonts.add_font_from_file_ttf(str(_font()), look.SIZE)
        self.fitted()

    def _listen(self) -> None:
        renderer = self._renderer

        def waking(callback: Any) -> Any:
            def call(*given: Any) -> None:
                self._has_come = True
                callback(*given)

            return call

        def pressed(window: Any, key: int, scancode: int, action: int, mods: int) -> None:
            renderer.keyboard_callback(window, key, scancode, action, mods)
            self._take_key(key, scancode, action, mods)

        def dropped(window: Any, paths: Any) -> None:
            self._inputs = replace(self._inputs, dropped=Path(paths[0]))

        glfw.set_drop_callback(self._window, waking(dropped))
        glfw.set_key_callback(self._window, waking(pressed))
        glfw.set_cursor_pos_callback(self._window, waking(renderer.mouse_callback))
        glfw.set_mouse_button_callback(self._window, waking(renderer.mouse_button_callback))
        glfw.set_window_size_callback(self._window, waking(renderer.resize_callback))
        glfw.set_char_callback(self._window, waking(renderer.char_callback))
        glfw.set_scroll_callback(self._window, waking(renderer.scroll_callback))
        glfw.set_window_refresh_callback(self._window, waking(lambda window: None))
        glfw.set_window_content_scale_callback(self._window, waking(lambda window, x, y: None))
        glfw.set_window_close_callback(self._window, waking(self._asked_to_close))

    def _listen_to_keys(self, window: Any) -> None:
        """Take the keys of the picture alone as the desk's; Escape ends it."""

        def pressed(window: Any, key: int, scancode: int, action: int, mods: int) -> None:
            self._has_come = True
            if key == glfw.KEY_ESCAPE and self._second is not None:
                self._second.leave()
            else:
                self._take_key(key, scancode, action, mods)

        glfw.set_key_callback(window, pressed)

    def _take_key(self, key: int, scancode: int, action: int, mods: int) -> None:
        name = key_name(key, glfw.get_key_name(key, scancode))
        is_control, is_shift = bool(mods & glfw.MOD_CONTROL), bool(mods & glfw.MOD_SHIFT)
        self._keyboard.add(name, action, is_control=is_control, is_shift=is_shift)

    def _asked_to_close(self, window: Any) -> None:
        glfw.set_window_should_close(window, False)
        self._inputs = replace(self._inputs, asks_to_close=True)


def _renderer(window: Any) -> Any:
    from imgui_bundle.python_backends.glfw_backend import GlfwRenderer

    return GlfwRenderer(window, attach_callbacks=False)


def _font() -> Path:
    import imgui_bundle

    return Path(imgui_bundle.__file__).parent / "assets" / "fonts" / look.FONT
