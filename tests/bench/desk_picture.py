"""The desk's picture on the graphics processor that is here: python tests/bench/desk_picture.py.

For each raster, chain and what divides the raster (2 while the film runs): the chain alone by GL's own timer
(graphics in software count next to nothing by it), the upload of 16-bit R'G'B' planes, and a whole new frame
of them from the moment that the reader hands it over: uploaded, decoded, the chain, the display step, all
finished; also as a share of a frame's time at 25 fps.
Every number is the least of several turns; graphics without a display, by EGL.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from ctypes import c_void_p
from itertools import product

import chains
import numpy as np
from film import planar_16
from numpy.typing import NDArray

from lamphouse.graph.chain.program import Program
from lamphouse.graph.cues.settings import Controls
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.glsl.context import is_software
from lamphouse.viewer.glsl.offscreen import Offscreen
from lamphouse.viewer.glsl.opengl import GL
from lamphouse.viewer.models.comparison import FAR
from lamphouse.viewer.models.panels import Area
from lamphouse.viewer.models.scanned import Frame
from lamphouse.viewer.picture.painter import Canvas, Painter
from lamphouse.viewer.turn.display import Look

RASTERS = ((720, 576), (1920, 1080), (2048, 1556), (4096, 3112))
SHOWN = (1600, 900)  # pixels of the window's part
LOOK = Look(SHOWN, Area(200, 0, 1200, 900), (1.0, 0.0, FAR), corner=(0, 0))
FRAME = 1 / 25
TURNS = 9


def main() -> None:
    with graphics():
        print(f"{said(GL.GL_RENDERER)}, {said(GL.GL_VERSION)}\n")
        print("| raster | divided by | chain | chain alone | upload | read to seen | of a frame at 25 fps |")
        print("|---|---|---|---|---|---|---|")
        for size, divide in product(RASTERS, (1, 2)):
            for name in (chains.EVERYDAY, chains.FILMED, chains.MATTED):
                alone, upload, whole = measured(name, size, divide)
                taken = " | ".join(f"{seconds * 1e3:.2f} ms" for seconds in (alone, upload, whole))
                print(
                    f"| {size[0]}x{size[1]} | {divide} | {name} | {taken} | {whole / FRAME:.2f} |", flush=True
                )


def measured(name: str, size: tuple[int, int], divide: int) -> tuple[float, float, float]:
    """Return the seconds of the chain alone, of the upload, and of a frame from read to seen."""
    painter = Painter(has_shaders=not is_software(GL))
    reel = chains.reel(name, *size)
    controls = Controls(reel.chain, chains.CATALOGUE)
    settings = controls.effective(controls.check(chains.settings_of(name), ""))
    program = Program(reel.chain, reel.scan.encoding, chains.CATALOGUE)
    expression, numbers = program.expression(settings), program.numbers(settings)
    codes, _ = planar_16(*size)
    window = Canvas(GL.GL_RGBA8)

    def draw() -> None:
        painter.draw(painter.graded, divide, expression, numbers, 1.0)

    def take() -> None:
        painter.take(Frame(codes, (divide,)))
        GL.glFinish()

    def whole() -> None:
        painter.take(Frame(codes, (divide,)))
        draw()
        window.bind(SHOWN)
        painter.paint(LOOK, SHOWN[1])
        GL.glFinish()

    whole()
    alone = min(_timed(draw) for _ in range(TURNS))
    upload = min(_clocked(take) for _ in range(TURNS))
    seen = min(_clocked(whole) for _ in range(TURNS))
    painter.delete()
    window.delete()
    return alone, upload, seen


def _timed(work: Callable[[], None]) -> float:
    query = int(np.ravel(GL.glGenQueries(1))[0])
    GL.glBeginQuery(GL.GL_TIME_ELAPSED, query)
    work()
    GL.glEndQuery(GL.GL_TIME_ELAPSED)
    taken: NDArray[np.uint64] = np.zeros(1, np.uint64)
    GL.glGetQueryObjectui64v(query, GL.GL_QUERY_RESULT, c_void_p(taken.ctypes.data))
    GL.glDeleteQueries(1, [query])
    return float(taken[0]) * 1e-9


def _clocked(work: Callable[[], None]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def said(what: int) -> str:
    said = GL.glGetString(what)
    return said.decode() if isinstance(said, bytes) else str(said)


@contextmanager
def graphics() -> Iterator[None]:
    """Make GL current: as the desk does without a screen, or else on the first device that EGL lists."""
    try:
        with Offscreen((16, 16)):
            yield
        return
    except BadInput as error:
        print(f"{error} Trying EGL's own devices.", file=sys.stderr)
    with first_device():
        yield


@contextmanager
def first_device() -> Iterator[None]:
    from OpenGL import EGL
    from OpenGL.EGL.EXT.device_base import egl_get_devices
    from OpenGL.EGL.EXT.platform_base import eglGetPlatformDisplayEXT
    from OpenGL.EGL.EXT.platform_device import EGL_PLATFORM_DEVICE_EXT

    display = eglGetPlatformDisplayEXT(EGL_PLATFORM_DEVICE_EXT, egl_get_devices()[0], None)
    EGL.eglInitialize(display, EGL.EGLint(), EGL.EGLint())
    EGL.eglBindAPI(EGL.EGL_OPENGL_API)
    config, count = (EGL.EGLConfig * 1)(), EGL.EGLint()
    wanted = (EGL.EGLint * 3)(EGL.EGL_RENDERABLE_TYPE, EGL.EGL_OPENGL_BIT, EGL.EGL_NONE)
    EGL.eglChooseConfig(display, wanted, config, 1, count)
    version = (EGL.EGLint * 5)(0x3098, 3, 0x30FB, 3, EGL.EGL_NONE)  # major and minor of the context
    context = EGL.eglCreateContext(display, config[0], EGL.EGL_NO_CONTEXT, version)
    EGL.eglMakeCurrent(display, EGL.EGL_NO_SURFACE, EGL.EGL_NO_SURFACE, context)
    yield
    EGL.eglTerminate(display)


if __name__ == "__main__":
    main()
