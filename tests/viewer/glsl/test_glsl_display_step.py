"""The step to the monitor as graphics draw it, against the definition in NumPy, code for code."""

import numpy as np
import pytest

from lamphouse.nodes.colour_encoding import ColourEncoding
from lamphouse.viewer.models.monitors import MONITORS, Monitor
from lamphouse.viewer.models.panels import Area
from lamphouse.viewer.picture.monitor import monitor_code
from lamphouse.viewer.turn.display import Look

SIZE = (48, 20)
VIDEO = np.random.default_rng(3).uniform(-0.2, 1.3, (3, SIZE[1], SIZE[0])).astype(np.float16)
TABLE = np.random.default_rng(4).uniform(0, 1, (5, 5, 5, 3)).astype(np.float32)
ALL = [*MONITORS.values(), Monitor("a table", ColourEncoding("srgb"), "invented", TABLE)]


@pytest.fixture(scope="module")
def painter(drawing):
    from lamphouse.viewer.picture.painter import Painter

    made = Painter(has_shaders=True)
    yield made
    made.delete()


@pytest.mark.parametrize("monitor", ALL, ids=lambda monitor: monitor.stated)
def test_graphics_give_a_monitor_the_codes_of_the_definition(painter, monitor):
    painter.graded.write(VIDEO.astype(np.float32))
    painter.show(Look(SIZE, Area(0, 0, *SIZE), (1.0, 0.0, 1e3), monitor=monitor))
    found = painter.shown["picture"].read() * 255
    meant = np.clip(monitor_code(VIDEO.reshape(3, -1).astype(np.float64), monitor), 0, 1) * 255
    # Rounded, after less than half a code of noise either way; interpolated at the very pixel.
    assert np.abs(found.reshape(3, -1) - meant).max() <= 1.02
