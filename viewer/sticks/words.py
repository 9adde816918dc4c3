"""What the axes and buttons of a device are called. The numbers are those of a pose."""

from __future__ import annotations

from typing import Final

from lamphouse.viewer.sticks.mapping import Device, Move
from lamphouse.viewer.sticks.step import AXES_EACH, BUTTONS_EACH

# In the order in which GLFW gives the parts of every gamepad (its documentation, "Gamepad input").
AXES: Final = (
    "left stick across",
    "left stick up, down",
    "right stick across",
    "right stick up, down",
    "left trigger",
    "right trigger",
)
BUTTONS: Final = (
    "lower button",
    "right button",
    "left button",
    "upper button",
    "left shoulder",
    "right shoulder",
    "left of middle",
    "right of middle",
    "middle button",
    "left stick pressed",
    "right stick pressed",
    "cross up",
    "cross right",
    "cross down",
    "cross left",
)
_STICKS: Final = {(0, 1): "left stick", (2, 3): "right stick"}


def axis_words(device: Device, number: int) -> str:
    """Return what an axis is called: `left trigger`, or `right, axis 10`."""
    if device == "gamepad" and number < len(AXES):
        return AXES[number]
    return f"{'left' if number < AXES_EACH else 'right'}, axis {number}"


def button_words(device: Device, number: int) -> str:
    """Return what a button is called: `left shoulder`, or `right, button 34`."""
    if device == "gamepad" and number < len(BUTTONS):
        return BUTTONS[number]
    return f"{'left' if number < BUTTONS_EACH else 'right'}, button {number}"


def move_words(device: Device, move: Move) -> str:
    """Return what a person moves or presses for `move`: `left stick`, `cross down, cross up`."""
    if device == "gamepad" and move.axes in _STICKS:
        return _STICKS[move.axes]
    axes, buttons = move.axes, move.buttons
    if device == "joysticks" and len(axes + buttons) == 2:
        kind, each = ("axes", AXES_EACH) if axes else ("buttons", BUTTONS_EACH)
        first, second = axes or buttons
        if (first < each) == (second < each):
            return f"{'left' if first < each else 'right'}, {kind} {first} and {second}"
    words = [axis_words(device, n) for n in axes] + [button_words(device, n) for n in buttons]
    return ", ".join(words)
