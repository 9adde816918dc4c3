"""The window and its loop: it sleeps until something happens, and never waits for the scan.

The same loop draws without a screen into a file, for reports, tests and documents.
"""

from __future__ import annotations

import time
from pathlib import Path
from types import TracebackType
from typing import Any, Final

import numpy as np
from imgui_bundle import ImVec2, imgui
from numpy.typing import NDArray

from lamphouse.graph.folders import settings_folder
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer import colours
from lamphouse.viewer.glsl.context import opened
from lamphouse.viewer.glsl.opengl import GL, glfw
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.keys import REPEATING, leave, take_keys
from lamphouse.viewer.models.screen import Screen
from lamphouse.viewer.panels import look
from lamphouse.viewer.picture.painter import Canvas
from lamphouse.viewer.picture.shown import Shown
from lamphouse.viewer.sound.heard import Heard
from lamphouse.viewer.sticks.mapping import Device as Kind
from lamphouse.viewer.sticks.poll import Poll
from lamphouse.viewer.sticks.shelf import Shelf
from lamphouse.viewer.turn.hands import EVERY, Hands
from lamphouse.viewer.window.gui import gui

NAMES: Final = {
    glfw.KEY_SPACE: "space",
    glfw.KEY_LEFT: "left",
    glfw.KEY_RIGHT: "right",
    glfw.KEY_PAGE_UP: "page up",
    glfw.KEY_PAGE_DOWN: "page down",
    glfw.KEY_HOME: "home",
    glfw.KEY_END: "end",
    glfw.KEY_ENTER: "enter",
    glfw.KEY_KP_ENTER: "enter",
    glfw.KEY_F1: "f1",
    glfw.KEY_F2: "f2",
    glfw.KEY_F3: "f3",
    glfw.KEY_DELETE: "delete",
}
# A gamepad first: every gamepad is a joystick too.
ORDER: Final[tuple[Kind, ...]] = ("gamepad", "joysticks")
SETTLING: Final = 5  # frames that ImGui takes to come to rest after an event: a list that opens takes most
LONGEST: Final = 1.0  # seconds that the loop sleeps at most
SECOND: Final = 1_000_000_000
PATIENCE: Final = 60 * SECOND  # of a picture for a file


class Window:
    """The desk's window, or, with `is_seen` False, the same without a screen. Use as a context manager."""

    def __init__(
        self, desk: Desk, size: tuple[int, int], scale: float = 0.0, *, is_seen: bool = True
    ) -> None:
        self._desk, self._size = desk, size
        self._window = opened(glfw, size, f"{desk.reel_file.name} - Lamphouse", is_seen=is_seen)
        glfw.make_context_current(self._window)
        self.screen = Screen(scale=scale or _content_scale(self._window, is_seen))
        self._settling = SETTLING
        imgui.create_context()
        io = imgui.get_io()
        io.set_ini_filename("")
        io.fonts.add_font_from_file_ttf(str(_font()), look.SIZE)
        look.put_on(self.screen.scale)
        self._renderer = _renderer(self._window)
        self._listen()
        self.shown = Shown(desk, self.screen, self._wake)
        self._hands = Hands([(kind, Poll(kind)) for kind in ORDER] if is_seen else [])
        if is_seen:
            self.screen.sticks.shelf = Shelf(settings_folder())
            desk.said = " ".join(self.screen.sticks.shelf.troubles)
        self._heard = Heard(desk, self.screen, self._wake)

    def __enter__(self) -> Window:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._heard.close()
        self.shown.close()
        self._renderer.shutdown()
        imgui.destroy_context()
        glfw.destroy_window(self._window)
        glfw.terminate()

    def run(self) -> None:
        """Let a person work until the window closes."""
        while not self.screen.is_over:
            if self._slept():
                self._renderer.process_inputs()
                self._turn()
                glfw.swap_buffers(self._window)
                self._count()

    def picture(self) -> NDArray[np.float32]:
        """Return the window, (3, height, width), once all of it is what the desk holds."""
        width, height = self._size
        canvas, started = Canvas(GL.GL_RGBA8), time.monotonic_ns()
        rest = SETTLING
        while rest:
            io = imgui.get_io()
            io.display_size, io.delta_time = ImVec2(width, height), 1 / 60
            self._turn(canvas)
            self._count()
            rest = rest - 1 if self.shown.is_settled else SETTLING
            if time.monotonic_ns() - started > PATIENCE:
                raise BadInput("The desk's picture did not come to rest within a minute; is the scan there?")
            time.sleep(0.005)
        pixels = canvas.read()
        canvas.delete()
        return np.clip(pixels[:, ::-1], 0, 1)

    def _turn(self, canvas: Canvas | None = None) -> None:
        desk, screen = self._desk, self.screen
        now = screen.now = time.monotonic_ns()
        self.shown.follow(now)
        imgui.new_frame()
        take_keys(desk, screen, is_typing=imgui.get_io().want_text_input)
        before = desk.reel
        gui(desk, screen)
        if desk.reel is not before:
            self._settling = SETTLING  # what was drawn before the change in this frame is old
        imgui.render()
        self._heard.follow()
        self._keep(now)
        if canvas is not None:
            canvas.bind(self._size)
        else:
            GL.glBindFramebuffer(GL.GL_FRAMEBUFFER, 0)
        width, height = self._size if canvas else glfw.get_framebuffer_size(self._window)
        GL.glViewport(0, 0, width, height)
        GL.glClearColor(*colours.PANEL)
        GL.glClear(GL.GL_COLOR_BUFFER_BIT)
        self._renderer.render(imgui.get_draw_data())

    def _count(self) -> None:
        if self.shown.count(time.monotonic_ns()):
            self._settling = max(self._settling, 1)

    def _keep(self, now: int) -> None:
        try:
            self._desk.recovery.keep(self._desk.reel, now)
        except BadInput as error:
            self._desk.said = str(error)

    def _slept(self) -> bool:
        """Wait until something happens, and say whether there is anything to draw."""
        if self._settling > 0:
            self._settling -= 1
            glfw.poll_events()
            return True
        wait = self.shown.wait(time.monotonic_ns())
        seconds = LONGEST if wait is None else min(wait / SECOND, LONGEST)
        if self._hands.are_there:
            seconds = min(seconds, EVERY / SECOND)
        if seconds > 0:
            glfw.wait_events_timeout(seconds)
        else:
            glfw.poll_events()
        moved = self._hands.take(self._desk, self.screen, time.monotonic_ns())
        is_time = wait is not None and wait <= seconds * SECOND
        return moved or is_time or self._settling > 0

    def _wake(self) -> None:
        self._settling = SETTLING
        glfw.post_empty_event()

    def _listen(self) -> None:
        renderer = self._renderer

        def heard(callback: Any) -> Any:
            def call(*given: Any) -> None:
                self._settling = SETTLING
                callback(*given)

            return call

        def pressed(window: Any, key: int, scancode: int, action: int, mods: int) -> None:
            # ImGui takes chords apart over several frames and loses quick ones: keys come from here.
            name = NAMES.get(key) or glfw.get_key_name(key, scancode)
            if name and action == glfw.RELEASE:
                self.screen.let_go.append(name.lower())
            elif name and (action == glfw.PRESS or name.lower() in REPEATING):
                self.screen.keys.append((name.lower(), bool(mods & glfw.MOD_CONTROL)))
            renderer.keyboard_callback(window, key, scancode, action, mods)

        def dropped(window: Any, paths: Any) -> None:
            self._desk.comparison.hold(Path(paths[0]))

        glfw.set_drop_callback(self._window, heard(dropped))
        glfw.set_key_callback(self._window, heard(pressed))
        glfw.set_cursor_pos_callback(self._window, heard(renderer.mouse_callback))
        glfw.set_mouse_button_callback(self._window, heard(renderer.mouse_button_callback))
        glfw.set_window_size_callback(self._window, heard(renderer.resize_callback))
        glfw.set_char_callback(self._window, heard(renderer.char_callback))
        glfw.set_scroll_callback(self._window, heard(renderer.scroll_callback))
        glfw.set_window_refresh_callback(self._window, heard(lambda window: None))
        glfw.set_window_close_callback(self._window, heard(self._asked_to_close))

    def _asked_to_close(self, window: Any) -> None:
        glfw.set_window_should_close(window, False)
        leave(self._desk, self.screen)


def _content_scale(window: Any, is_seen: bool) -> float:
    return max(1.0, float(glfw.get_window_content_scale(window)[0])) if is_seen else 1.0


def _renderer(window: Any) -> Any:
    from imgui_bundle.python_backends.glfw_backend import GlfwRenderer

    return GlfwRenderer(window, attach_callbacks=False)


def _font() -> Path:
    import imgui_bundle

    return Path(imgui_bundle.__file__).parent / "assets" / "fonts" / look.FONT
