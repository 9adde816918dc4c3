"""A picture that passes is laid into the window as the display step draws it, but for what lies between."""

import numpy as np
import pytest

from lamphouse.viewer.models.frame import Lie
from lamphouse.viewer.models.monitors import MONITORS
from lamphouse.viewer.models.panels import Area
from lamphouse.viewer.turn.display import Look

WINDOW, PART, CORNER = (96, 80), (60, 50), (20, 10)
AREA = Area(6, 4, 48, 40)
UNSEEN = (1.0, 0.0, 1e3)
LIES = {
    "whole": Lie(),
    "pillars": Lie(across=(2.0, 0.0, -0.5), window=(0.25, 0.0, 0.75, 1.0)),
    "mirrored": Lie(across=(-1.0, 0.0, 1.0)),
    "upside down and moved": Lie(across=(0.8, 0.0, 0.3), down=(0.0, -1.0, 1.0)),
    "blanked": Lie(edges=(0.0, 0.25, 1.0, 0.75)),
    "turned": Lie(across=(0.9, 0.2, 0.0), down=(-0.2, 0.9, 0.1)),
}


@pytest.fixture(scope="module")
def painter(drawing):
    from lamphouse.viewer.picture.painter import Painter

    made = Painter(has_shaders=False)
    yield made
    made.delete()


def painted(painter, look):
    from lamphouse.viewer.glsl.opengl import GL
    from lamphouse.viewer.picture.painter import Canvas

    window = Canvas(GL.GL_RGBA8)
    window.bind(WINDOW)
    GL.glClearColor(0.5, 0.5, 0.5, 1)
    GL.glClear(GL.GL_COLOR_BUFFER_BIT)
    painter.paint(look, WINDOW[1])
    found = window.read() * 255
    window.delete()
    return found


@pytest.mark.parametrize("lie", LIES.values(), ids=LIES)
@pytest.mark.parametrize("monitor", [MONITORS["sRGB"], MONITORS["P3-D65, gamma 2.6"]], ids=lambda m: m.stated)
@pytest.mark.parametrize("area", [AREA, Area(-20, -9, 110, 84)], ids=["fits", "is cut"])
def test_a_picture_that_passes_looks_as_one_that_rests(painter, lie, monitor, area):
    across, down = np.meshgrid(np.linspace(0.2, 0.8, 24), np.linspace(0.1, 0.9, 20))
    painter.graded.write(np.stack([across, down, 1 - across]).astype(np.float32))
    look = {"size": PART, "area": area, "edge": UNSEEN, "lie": lie, "monitor": monitor, "corner": CORNER}
    rests, passes = (painted(painter, Look(**look, moves=moves)) for moves in (False, True))
    apart = np.abs(rests - passes).max(axis=0)
    # Where black meets the picture an edge may lie a pixel aside; else a code of noise and one of rounding.
    assert np.mean(apart > 2.5) < 0.03
    assert (passes[:, :, : CORNER[0]] == rests[:, :, : CORNER[0]]).all()
    assert np.ptp(passes) > 100  # there is a picture


def test_what_is_marked_or_compared_is_drawn_by_the_display_step_also_while_it_moves(painter):
    painter.graded.write(np.full((3, 8, 8), 1.2, np.float32))
    look = {"size": PART, "area": AREA, "edge": UNSEEN, "corner": CORNER, "limits": (0.0, 1.0)}
    rests, passes = (painted(painter, Look(**look, moves=moves)) for moves in (False, True))
    np.testing.assert_array_equal(rests, passes)
