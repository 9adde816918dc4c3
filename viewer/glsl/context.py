"""A GL 3.3 core context with a window that is seen, or with one of the null platform, which nobody sees."""

from __future__ import annotations

import warnings
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, Final

from lamphouse.nodes.errors import BadInput

SMALLEST = (16, 16)
# What drivers that have no graphics processor call themselves: Mesa's, Apple's, Microsoft's, Google's.
SOFTWARE = ("llvmpipe", "softpipe", "swrast", "software", "gdi generic", "swiftshader")
NO_HINTS: Final[Mapping[int, Any]] = MappingProxyType({})


def opened(glfw: Any, size: tuple[int, int] = SMALLEST, title: str = "", *, is_seen: bool) -> Any:
    """Return a GLFW window with such a context, GLFW initialised. Raises BadInput where there is none."""
    with warnings.catch_warnings(record=True) as warned:
        warnings.simplefilter("always")
        if not is_seen:
            glfw.init_hint(glfw.PLATFORM, glfw.PLATFORM_NULL)
        is_there = glfw.init()
        window = _window(glfw, size, title) if is_there else None
    if window:
        return window
    glfw.terminate()
    reason = _reason(warned)
    if is_seen and not is_there:
        raise BadInput(
            f"There is no screen to open a window on ({reason}); the desk needs one, or --picture FILE.png."
        )
    raise BadInput(
        f"There are no graphics here: EGL offers no OpenGL 3.3 ({reason}); "
        "install a graphics driver, or Mesa."
    )


def beside(
    glfw: Any, first: Any, size: tuple[int, int], title: str, *, hints: Mapping[int, Any], monitor: Any = None
) -> Any:
    """Return another window, with more hints, whose context shares what the first one's has.

    Of the full screen where a monitor is given. Raises BadInput where there can be none.
    """
    with warnings.catch_warnings(record=True) as warned:
        warnings.simplefilter("always")
        window = _window(glfw, size, title, hints=hints, monitor=monitor, first=first)
    if not window:
        raise BadInput(f"There can be no second window here ({_reason(warned)}); see the graphics driver.")
    return window


def _window(
    glfw: Any,
    size: tuple[int, int],
    title: str,
    *,
    hints: Mapping[int, Any] = NO_HINTS,
    monitor: Any = None,
    first: Any = None,
) -> Any:
    glfw.default_window_hints()
    for hint, value in (
        (glfw.CONTEXT_CREATION_API, glfw.EGL_CONTEXT_API),
        (glfw.CONTEXT_VERSION_MAJOR, 3),
        (glfw.CONTEXT_VERSION_MINOR, 3),
        (glfw.OPENGL_PROFILE, glfw.OPENGL_CORE_PROFILE),
        (glfw.OPENGL_FORWARD_COMPAT, True),
        *hints.items(),
    ):
        glfw.window_hint(hint, value)
    return glfw.create_window(*size, title, monitor, first)


def is_software(gl: Any) -> bool:
    """Say whether the context that is current on this thread draws on the processor."""
    said = gl.glGetString(gl.GL_RENDERER)
    name = said.decode() if isinstance(said, bytes) else str(said)
    return any(word in name.lower() for word in SOFTWARE)


def _reason(warned: list[warnings.WarningMessage]) -> str:
    """Return GLFW's own words, which come as (65550) b'words'."""
    return str(warned[-1].message).partition("b'")[2].strip("' ") if warned else "no reason was given"
