"""How large everything in the window is: by the monitor, by the person, and by the room that there is."""

from __future__ import annotations

from typing import Any, Final

LEAST: Final = (1024, 640)  # pixels of the window at scale 1 in which every panel has its place
SMALLEST: Final = 0.75  # of a scale


def scale_of(asked: float, text_size: float, window: tuple[float, float]) -> float:
    """Return the scale of a window of so many pixels.

    `asked` is what the monitor asks for, and `text_size` what the person likes of it. Nothing grows further
    than the window has room for, so that nothing is cut.
    """
    room = max(min(side / least for side, least in zip(window, LEAST, strict=True)), SMALLEST)
    return float(min(asked * text_size, room))


def monitor_scale(glfw: Any, window: Any) -> float:
    """Return how much larger than at 96 dots an inch the monitor wants what is drawn, in units of the window.

    Where the system counts in points, as macOS does, these are as large already, and 1 is returned.
    """
    points, pixels = glfw.get_window_size(window)[0], glfw.get_framebuffer_size(window)[0]
    asked = float(glfw.get_window_content_scale(window)[0])
    return max(1.0, asked * float(points) / max(float(pixels), 1.0))


def limit_size(glfw: Any, window: Any, scale: float) -> None:
    """Let the window become no smaller than `LEAST`, as far as the monitor has room for that."""
    _, _, *room = glfw.get_monitor_workarea(glfw.get_primary_monitor())
    least = [min(round(side * scale), most) for side, most in zip(LEAST, room, strict=True)]
    glfw.set_window_size_limits(window, *least, glfw.DONT_CARE, glfw.DONT_CARE)
