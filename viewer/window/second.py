"""The picture alone over a whole monitor: a second window, in which nothing is drawn but what it is given.

It shares textures with the desk's window, on the same thread. Framebuffers are not shared, so it has one of
its own and copies the picture from it, pixel for pixel. It never waits for its monitor: the desk's window
sets the pace, and this one is swapped only where it has another picture to show.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.glsl.context import beside
from lamphouse.viewer.glsl.opengl import GL, glfw
from lamphouse.viewer.models.screens import Screens, chosen_monitor, told_apart

Listen = Callable[[Any], None]
TITLE: Final = "Lamphouse, the picture alone"
FOREVER: Final = 0xFFFFFFFFFFFFFFFF  # GL_TIMEOUT_IGNORED (OpenGL 3.3 core, 5.2), which PyOpenGL has wrong


class Second:
    """The second window, open or not. `first` is the desk's; `listen` has a window's keys heard."""

    def __init__(self, first: Any, listen: Listen) -> None:
        self._first, self._listen = first, listen
        self._window: Any = None
        self._framebuffer = 0
        self._on: tuple[str, ...] = ()  # the name of its monitor, with those of all
        self._is_left = self._is_over_desk = False

    def follow(self, screens: Screens) -> str:
        """Open, move or close the window as is asked; return why that cannot be, or nothing."""
        monitors = glfw.get_monitors()
        names = told_apart([_text(glfw.get_monitor_name(monitor)) for monitor in monitors])
        screens.monitors = tuple(names)
        if self._is_left or not monitors:
            screens.is_alone_shown = False
        self._is_left = False
        trouble = ""
        if screens.is_alone_shown:
            desks = _index_of(self._first, monitors)
            index = chosen_monitor(names, screens.on, desks)
            if self._on != (names[index], *names):
                self.close()
                self._is_over_desk = index == desks
                trouble = self._open(monitors[index])
                self._on = (names[index], *names)
        else:
            self.close()
        screens.is_alone_shown = self._window is not None
        screens.size = glfw.get_framebuffer_size(self._window) if self._window is not None else (0, 0)
        return trouble

    def present(self, texture: int, size: tuple[int, int]) -> None:
        """Show a texture of that size, its first row on top."""
        if self._window is None:
            return
        drawn = GL.glFenceSync(GL.GL_SYNC_GPU_COMMANDS_COMPLETE, 0)
        GL.glFlush()
        glfw.make_context_current(self._window)
        GL.glWaitSync(drawn, 0, FOREVER)
        GL.glDeleteSync(drawn)
        GL.glBindFramebuffer(GL.GL_READ_FRAMEBUFFER, self._framebuffer)
        GL.glFramebufferTexture2D(
            GL.GL_READ_FRAMEBUFFER, GL.GL_COLOR_ATTACHMENT0, GL.GL_TEXTURE_2D, texture, 0
        )
        GL.glBindFramebuffer(GL.GL_DRAW_FRAMEBUFFER, 0)
        (width, height), (wide, high) = size, glfw.get_framebuffer_size(self._window)
        GL.glBlitFramebuffer(0, 0, width, height, 0, high, wide, 0, GL.GL_COLOR_BUFFER_BIT, GL.GL_NEAREST)
        glfw.swap_buffers(self._window)
        glfw.make_context_current(self._first)

    def close(self) -> None:
        """Let the window go, where it is open."""
        if self._window is None:
            return
        glfw.make_context_current(self._window)
        GL.glDeleteFramebuffers(1, [self._framebuffer])
        glfw.make_context_current(self._first)
        glfw.destroy_window(self._window)
        self._window, self._on = None, ()
        if self._is_over_desk:
            glfw.focus_window(self._first)

    def _open(self, monitor: Any) -> str:
        mode = glfw.get_video_mode(monitor)
        hints = {
            glfw.DECORATED: False,
            glfw.AUTO_ICONIFY: False,
            glfw.FOCUS_ON_SHOW: self._is_over_desk,  # elsewhere the desk's window keeps the keyboard
            glfw.VISIBLE: False,
        }
        # A window cannot be put anywhere by its program on Wayland: there it is of the full screen.
        places_itself = glfw.get_platform() == glfw.PLATFORM_WAYLAND
        size = mode.size.width, mode.size.height
        try:
            self._window = beside(
                glfw, self._first, size, TITLE, hints=hints, monitor=monitor if places_itself else None
            )
        except BadInput as error:
            return str(error)
        if not places_itself:
            glfw.set_window_pos(self._window, *glfw.get_monitor_pos(monitor))
        glfw.show_window(self._window)
        self._listen(self._window)
        glfw.set_window_close_callback(self._window, self.leave)
        glfw.set_input_mode(self._window, glfw.CURSOR, glfw.CURSOR_HIDDEN)
        glfw.make_context_current(self._window)
        glfw.swap_interval(0)
        self._framebuffer = int(GL.glGenFramebuffers(1))
        glfw.make_context_current(self._first)
        return ""

    def leave(self, window: Any = None) -> None:
        """Have the window closed at the next turn."""
        self._is_left = True


def _text(name: Any) -> str:
    return name.decode() if isinstance(name, bytes) else str(name)


def _index_of(window: Any, monitors: list[Any]) -> int:
    """Return which monitor the middle of a window is on; the first where none or nobody knows."""
    if glfw.get_platform() == glfw.PLATFORM_WAYLAND:
        return 0
    (left, top), (width, height) = glfw.get_window_pos(window), glfw.get_window_size(window)
    x, y = left + width // 2, top + height // 2
    for index, monitor in enumerate(monitors):
        (first, above), mode = glfw.get_monitor_pos(monitor), glfw.get_video_mode(monitor)
        if first <= x < first + mode.size.width and above <= y < above + mode.size.height:
            return index
    return 0
