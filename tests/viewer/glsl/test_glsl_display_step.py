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
    painter.show(Look(SIZE, Area(0, 0, *SIZE), (1.0, 0.0, 1e3), monitor=monitor), "alone")
    found = painter.shown["alone"].read() * 255
    meant = np.clip(monitor_code(VIDEO.reshape(3, -1).astype(np.float64), monitor), 0, 1) * 255
    # Rounded, after less than half a code of noise either way; interpolated at the very pixel.
    assert np.abs(found.reshape(3, -1) - meant).max() <= 1.02


def noise(size):
    """Less than a code of the monitor, by the formula of the display step, from -0.5 to 0.5, (h, w)."""
    y, x = np.mgrid[: size[1], : size[0]].astype(np.float32) + np.float32(0.5)
    first = x * np.float32(0.06711056) + y * np.float32(0.00583715)
    found = np.float32(52.9829189) * (first - np.floor(first))
    return found - np.floor(found) - 0.5


@pytest.mark.parametrize("left", [7, -5])
def test_at_1_to_1_each_pixel_of_the_monitor_is_one_of_the_scan_and_nothing_of_its_neighbours(painter, left):
    width, height = 32, 16
    # Black and white by chance: whatever is taken of a neighbour shows.
    film = np.random.default_rng(6).integers(0, 2, (3, height, width)).astype(np.float32)
    painter.graded.write(film)
    monitor = MONITORS["BT.1886"]
    painter.show(
        Look(SIZE, Area(left, 2, width, height), (1.0, 0.0, 1e3), monitor=monitor, is_nearest=True), "alone"
    )
    found = painter.shown["alone"].read()[:, 2 : 2 + height, max(0, left) : left + width] * 255
    meant = film[:, :, max(0, -left) :]
    step = noise(SIZE)[2 : 2 + height, max(0, left) : left + width]
    np.testing.assert_array_equal(found, np.rint(np.clip(meant * 255 + step, 0, 255)))


def test_lines_over_the_picture_are_a_pixel_wide_and_light_beside_dark(painter):
    painter.graded.write(np.full((3, 4, 4), 0.5, np.float32))
    lines = (((10.5, 2.5), (10.5, 12.5)), ((20.5, 8.5), (40.5, 8.5)))
    painter.show(Look(SIZE, Area(0, 0, *SIZE), (1.0, 0.0, 1e3), lines=lines), "alone")
    found = painter.shown["alone"].read()[0]
    light, dark = 0xF0 / 255, 0x1B / 255
    np.testing.assert_allclose(found[3:12, 10], light, atol=0.01)
    np.testing.assert_allclose(found[4:12, 11], dark, atol=0.01)
    np.testing.assert_allclose(found[8, 21:40], light, atol=0.01)
    assert abs(found[3:12, 8].mean() - found[15, 8]) < 0.02


def test_a_matte_alone_is_its_share_as_grey_and_over_the_picture_tints_what_it_leaves_out(painter):
    painter.graded.write(np.full((3, 8, 8), 0.5, np.float32))
    matte = np.zeros((3, 8, 8), np.float32)
    matte[:, :, 4:] = 1
    painter.matte.write(matte)
    monitor, area = MONITORS["BT.1886"], Area(0, 0, *SIZE)

    def seen(how):
        painter.show(Look(SIZE, area, (1.0, 0.0, 1e3), monitor=monitor, matte=how), "alone")
        return painter.shown["alone"].read()

    alone, over, plain = seen("alone"), seen("over"), seen("")
    np.testing.assert_allclose(alone[:, :, 4:16], 0, atol=0.01)
    np.testing.assert_allclose(alone[:, :, 32:44], 1, atol=0.01)
    np.testing.assert_array_equal(over[:, :, 32:44], plain[:, :, 32:44])
    tinted = over[:, :, 4:16].mean((1, 2))
    assert tinted[2] - tinted[0] > 0.1  # toward the accent, a blue
