"""The sticks themselves, read through GLFW into plain tuples."""

from __future__ import annotations

from itertools import chain, repeat
from typing import Any, Final

from lamphouse.viewer.sticks.mapping import Device
from lamphouse.viewer.sticks.step import Pose

JOYSTICKS: Final = 16  # that GLFW knows at most

# Of two joysticks the second begins at fixed numbers, so that a mapping does not depend on how many axes and
# buttons the first one has.
HANDS: Final = 2
AXES_EACH: Final = 8
BUTTONS_EACH: Final = 32


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

    def _gamepad(self) -> Pose | None:
        for number in range(JOYSTICKS):
            if self._glfw.joystick_is_gamepad(number):
                state = self._glfw.get_gamepad_state(number)
                if state is not None:
                    return Pose(tuple(state.axes), tuple(map(bool, state.buttons)))
        return None

    def _joysticks(self) -> Pose | None:
        present = [n for n in range(JOYSTICKS) if self._glfw.joystick_present(n)][:HANDS]
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
