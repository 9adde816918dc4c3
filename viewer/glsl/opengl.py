"""OpenGL and the window library, imported in the one order that works.

imgui_bundle comes before glfw, which then loads the library that the bundle brings; PyOpenGL asks how
contexts are made when it is first imported, and on Linux it is by EGL, with a display or without one.
"""

import os
import sys

if sys.platform.startswith("linux"):
    os.environ.setdefault("PYOPENGL_PLATFORM", "egl")

import imgui_bundle  # noqa: F401  # isort: skip
import glfw  # isort: skip
from OpenGL import GL  # isort: skip

__all__ = ["GL", "glfw"]
