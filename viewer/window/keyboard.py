"""Keys in the order in which they came among clicks and letters, however many came at once.

ImGui takes quick events apart over several drawings. A key of ours is taken in the drawing in which ImGui
takes the same key, and not before: so a key that follows a click into a field is known to be for the field.
"""

from __future__ import annotations

from collections import deque
from typing import Final, NamedTuple

from imgui_bundle import imgui

from lamphouse.viewer.glsl.opengl import glfw
from lamphouse.viewer.models.keys import Press

NAMES: Final = {
    glfw.KEY_SPACE: "space",
    glfw.KEY_LEFT: "left",
    glfw.KEY_RIGHT: "right",
    glfw.KEY_UP: "up",
    glfw.KEY_DOWN: "down",
    glfw.KEY_PAGE_UP: "page up",
    glfw.KEY_PAGE_DOWN: "page down",
    glfw.KEY_HOME: "home",
    glfw.KEY_END: "end",
    glfw.KEY_ENTER: "enter",
    glfw.KEY_KP_ENTER: "enter",
    glfw.KEY_DELETE: "delete",
    glfw.KEY_INSERT: "insert",
    glfw.KEY_BACKSPACE: "backspace",
    glfw.KEY_TAB: "tab",
    glfw.KEY_ESCAPE: "escape",
    glfw.KEY_KP_ADD: "+",
    glfw.KEY_KP_SUBTRACT: "-",
    **{glfw.KEY_F1 + n: f"f{n + 1}" for n in range(12)},
}
PLUS: Final = "+="  # on one key of many layouts, where + is written with Shift
PRINTABLE: Final = range(33, 127)  # in which GLFW numbers keys as a keyboard for English has them


class _Key(NamedTuple):
    """A key, whether it went down, and the newest of ImGui's events when it had been handed over."""

    press: Press
    is_down: bool
    event: int


def key_name(key: int, letter: str | None) -> str:
    """Return the name of a key: its letter by the layout, or by its place where that is no Latin one."""
    if key in NAMES:
        return NAMES[key]
    if letter and letter in PLUS:
        return PLUS[0]
    is_latin = letter is not None and letter.isascii()
    return (letter or "").lower() if is_latin or key not in PRINTABLE else chr(key).lower()


def is_typing() -> bool:
    """Say whether a field has the keyboard, or what lies over all else and is to be answered first."""
    return bool(imgui.get_io().want_text_input) or imgui.internal.get_top_most_popup_modal() is not None


class Keyboard:
    """The keys that came and have not been taken yet. Needs ImGui's context."""

    def __init__(self) -> None:
        self._keys: deque[_Key] = deque()

    @property
    def is_behind(self) -> bool:
        """Whether ImGui or the desk has still events to take."""
        return bool(self._keys) or len(imgui.get_current_context().input_events_queue) > 0

    def add(self, name: str, action: int, *, is_control: bool, is_shift: bool = False) -> None:
        """Take a key in, after ImGui has."""
        if not name:
            return
        newest = imgui.get_current_context().input_events_next_event_id - 1
        press = Press(name, is_control, is_shift and name != PLUS[0], is_repeat=action == glfw.REPEAT)
        self._keys.append(_Key(press, action != glfw.RELEASE, newest))

    def taken(self) -> tuple[tuple[Press, ...], tuple[str, ...]]:
        """Return the keys that ImGui has taken by now: those pressed, and the names of those let go."""
        queue = imgui.get_current_context().input_events_queue
        oldest = queue[0].event_id if len(queue) else None
        taken: list[_Key] = []
        while self._keys and (oldest is None or self._keys[0].event < oldest):
            taken.append(self._keys.popleft())
        pressed = tuple(key.press for key in taken if key.is_down)
        return pressed, tuple(key.press.name for key in taken if not key.is_down)
