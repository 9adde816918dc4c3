"""The sticks themselves, read through GLFW into plain tuples."""

from __future__ import annotations

from itertools import chain, repeat
from typing import Any, Final

from lamphouse.viewer.sticks.mapping import Device
from lamphouse.viewer.sticks.step import AXES_EACH, BUTTONS_EACH, Pose, Seen

JOYSTICKS: Final = 16  # that GLFW knows at most

HANDS: Final = 2
GAMEPAD_BUTTONS: Final = tuple(range(15))


class Poll:
    """Reads one gamepad, or the first two joysticks. GLFW must be initialised, and is read on its own thread.

    A gamepad has axes 0 to 5 (left across and down, right across and down, left and right trigger) and
    buttons 0 to 14. The second of two joysticks begins at axis 8 and button 32; hats are four buttons each.
    """

    def __init__(self, device: Device) -> None:
        import glfw

        self._glfw: Any = glfw
        self._device = device

    def read(self) -> Pose | None:
        """Return where everything stands now, or None when no such device is there."""
        return self._gamepad() if self._device == "gamepad" else self._joysticks()

    def seen(self) -> Seen | None:
        """Return what the device that `read` reads says of itself, or None when there is none."""
        if self._device == "gamepad":
            pads = [n for n in range(JOYSTICKS) if self._glfw.joystick_is_gamepad(n)][:1]
            return Seen((_text(self._glfw.get_gamepad_name(pads[0])),), GAMEPAD_BUTTONS) if pads else None
        present = self._present()
        counts = [min(self._glfw.get_joystick_buttons(n)[1], BUTTONS_EACH) for n in present]
        buttons = (hand * BUTTONS_EACH + n for hand, count in enumerate(counts) for n in range(count))
        names = tuple(_text(self._glfw.get_joystick_name(n)) for n in present)
        return Seen(names, tuple(buttons)) if present else None

    def _present(self) -> list[int]:
        return [n for n in range(JOYSTICKS) if self._glfw.joystick_present(n)][:HANDS]

    def _gamepad(self) -> Pose | None:
        for number in range(JOYSTICKS):
            if self._glfw.joystick_is_gamepad(number):
                state = self._glfw.get_gamepad_state(number)
                if state is not None:
                    return Pose(tuple(state.axes), tuple(map(bool, state.buttons)))
        return None

    def _joysticks(self) -> Pose | None:
        present = self._present()
        if not present:
            return None
        axes = (_padded(self._glfw.get_joystick_axes(n), AXES_EACH, float("nan")) for n in present)
        buttons = (_padded(self._glfw.get_joystick_buttons(n), BUTTONS_EACH, 0) for n in present)
        return Pose(tuple(chain(*axes)), tuple(map(bool, chain(*buttons))))


def _padded(found: tuple[Any, int], size: int, rest: float) -> list[float]:
    """Return exactly `size` numbers of a pointer and a count, with `rest` where there are fewer."""
    pointer, count = found
    values = [pointer[n] for n in range(min(count, size))]
    return [*values, *repeat(rest, size - len(values))]


def _text(name: Any) -> str:
    """Return a name as GLFW gives it, bytes of UTF-8 or None, as text."""
    return (
        name.decode("utf-8", "replace")
        if isinstance(name, bytes)
        else str(name or "a joystick without a name")
    )
