"""What is on the screen, against the definition: which way up, where it is striped, and the scopes."""

import time
from contextlib import closing
from dataclasses import replace

import numpy as np
import pytest

from lamphouse.graph.media.codes.framing import Framing
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.graph.scopes.limits import edges
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.viewer.models.area import area_of
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.frame import lie_of
from lamphouse.viewer.models.panels import Area
from lamphouse.viewer.turn.display import Look

pytestmark = pytest.mark.slow  # each draws windows by graphics in software

# Near black a code of signal is several of the monitor's, there is noise, and pixels are interpolated.
NEAR = 6 / 255


@pytest.fixture
def window(reel_file, unseen):
    """The desk's window, seen by nobody."""
    from lamphouse.viewer.window.session import Session

    desk = Desk(open_reel(reel_file, Catalogue()))
    opened = unseen((1280, 800))
    with opened, closing(Session(opened, desk)) as session:
        yield desk, session


def steps():
    """A picture of 4 x 3 flat fields, no two alike, none of which is its own mirror image."""
    fields = np.linspace(0.05, 1.15, 36).reshape(3, 3, 4)
    return np.repeat(np.repeat(fields, 8, axis=1), 8, axis=2).astype(np.float32)


def middles(shown, area):
    """The middles of the fields of `steps` in a shown picture."""
    rows = (area.top + (np.arange(3) + 0.5) / 3 * area.height).astype(int)
    columns = (area.left + (np.arange(4) + 0.5) / 4 * area.width).astype(int)
    return shown[:, rows][:, :, columns]


def test_the_picture_in_the_window_is_the_right_way_up_and_round(window, displayed_by_definition):
    desk, opened = window
    shown = opened.picture()
    view, area = opened.panels.picture, area_of(desk, opened.panels.picture)
    graded = opened.display.painter.graded
    graded.write(steps())
    opened.display.show(Look(view.size, area, (1.0, 0.0, 1e3), corner=tuple(map(int, view.at))))
    shown = drawn_again(opened)
    left, top = map(int, view.at)  # where the picture's part begins in the window
    part = shown[:, top : top + view.size[1], left : left + view.size[0]]
    meant = displayed_by_definition(Look(view.size, area, (1.0, 0.0, 1e3)), steps())
    np.testing.assert_allclose(middles(part, area), middles(meant, area), atol=NEAR)


def drawn_again(opened):
    """The window once more, with what its textures hold now."""
    window = opened.window
    window.begin()
    window.draw(opened.desk, opened.panels, opened.loop.seen)
    window.present(opened.display.paint)
    return np.clip(window._canvas.read()[:, ::-1], 0, 1)


def test_what_the_scan_holds_lies_in_the_window_as_the_definition_has_it(window, displayed_by_definition):
    desk, opened = window
    desk.go_to(30, 0)
    shown = opened.picture()
    view = opened.panels.picture
    look = Look(view.size, area_of(desk, view), (1.0, 0.0, 1e3))
    meant = displayed_by_definition(look, np.clip(opened.loop.seen.scanned * 0.8, 0, None))
    left, top = map(int, view.at)
    part = shown[:, top : top + view.size[1], left : left + view.size[0]]
    # A picture of this size is enlarged: means of squares are told from one another, single pixels are not.
    inside = (slice(None), slice(8, view.size[1] // 8 * 8 - 8), slice(8, view.size[0] // 8 * 8 - 8))
    a, b = (coarse(picture[inside]) for picture in (part, meant))
    np.testing.assert_allclose(a, b, atol=0.04)
    assert np.abs(a - b[:, ::-1]).mean() > 5 * np.abs(a - b).mean()


def coarse(picture, size=16):
    _, height, width = picture.shape
    cut = picture[:, : height // size * size, : width // size * size]
    return cut.reshape(3, height // size, size, width // size, size).mean(axis=(2, 4))


def test_a_framed_picture_lies_in_the_window_as_the_definition_has_it(window, displayed_by_definition):
    desk, opened = window
    opened.picture()
    painter, size = opened.display.painter, (320, 240)
    y, x = np.mgrid[:240, :320]
    graded = np.stack([0.3 + 0.5 * x / 320, 0.8 - 0.5 * y / 240, 0.5 + 0.2 * np.sin(x / 30)]).astype(
        np.float32
    )
    painter.graded.write(graded)
    framing = Framing(turn=5.0, mirror="left-right", size=0.8, position_x=0.1, gate=(0.1, 0.0, 0.0, 0.2))
    look = Look(size, Area(0, 0, *size), (1.0, 0.0, 1e3), lie=lie_of(desk.reel, None, framing))
    painter.show(look, "alone")
    shown = np.clip(painter.shown["alone"].read(), 0, 1)
    meant = displayed_by_definition(look, graded)
    beside = np.abs(shown - meant).max(axis=0) > NEAR
    assert (meant.max(axis=0) == 0).mean() > 0.3  # what is blanked, and what the film does not reach
    assert beside.mean() < 0.005  # of all, and those on the edge of black
    mirrored = displayed_by_definition(look, graded[:, :, ::-1])
    assert (np.abs(shown - mirrored).max(axis=0) > NEAR).mean() > 0.3


def test_stripes_are_where_the_signal_leaves_its_limits_and_nowhere_else(window, displayed_by_definition):
    _, opened = window
    opened.picture()
    painter = opened.display.painter
    fields = steps()
    painter.graded.write(fields)
    look = Look((320, 240), Area(0, 0, 320, 240), (1.0, 0.0, 1e3), edges())
    painter.show(look, "alone")
    shown = painter.shown["alone"].read()
    meant = displayed_by_definition(look, fields)
    striped = (fields[:, ::8, ::8] > edges()[1]).any(axis=0)
    assert striped.any()
    assert not striped.all()
    plain = displayed_by_definition(Look(look.size, look.area, look.edge), fields)
    assert np.abs(meant - plain).max() > 0.5
    for row in range(3):
        for column in range(4):
            field = (
                slice(None),
                slice(row * 80 + 20, row * 80 + 60),
                slice(column * 80 + 20, column * 80 + 60),
            )
            np.testing.assert_allclose(shown[field], meant[field], atol=NEAR)


def test_where_something_was_judged_the_stripes_are_where_it_was_found(window):
    _, opened = window
    opened.picture()
    painter, size = opened.display.painter, (320, 240)
    painter.graded.write(np.full((3, 24, 32), 0.2, np.float32))
    beyond = np.zeros((48, 64), bool)
    beyond[12:24, 32:48] = True
    painter.mark(beyond)
    look = Look(size, Area(0, 0, *size), (1.0, 0.0, 1e3), edges())
    painter.show(look, "alone")
    plain = painter.shown["alone"].read()
    painter.show(replace(look, is_judged=True), "alone")
    changed = np.abs(painter.shown["alone"].read() - plain).max(axis=0) > 0.1
    assert changed[60:120, 160:240].mean() > 0.4
    changed[60:120, 160:240] = False
    assert not changed.any()


def test_stripes_come_by_the_box_that_says_so(window):
    desk, opened = window
    desk.go_to(10, 0)
    desk.set({"primary.gain": 3.0})
    plain = opened.picture()
    opened.panels.limits = True
    striped = opened.picture()
    view = opened.panels.picture
    part = (slice(None), slice(39, 39 + view.size[1]), slice(10, 10 + view.size[0]))
    assert np.mean(np.abs(plain[part] - striped[part]).max(axis=0) > 0.3) > 0.05
    opened.panels.limits = False
    np.testing.assert_allclose(opened.picture()[part], plain[part], atol=2 / 255)


@pytest.mark.parametrize(("level", "high"), [(0.2, False), (0.8, True)])
def test_the_parade_of_a_dark_picture_lies_low_and_that_of_a_bright_one_high(window, level, high):
    _, opened = window
    opened.picture()
    count_flat(opened, (level, level, level))
    shown = drawn_again(opened)
    top, bottom = 9, 157  # of the scopes in this window
    part = shown[:, top:bottom, 680:905]
    rows = np.flatnonzero((np.ptp(part, axis=0) > 0.15).any(axis=1)) + top  # the trace alone has a colour
    assert len(rows) > 0
    assert (rows.mean() < (top + bottom) / 2) == high


@pytest.mark.parametrize(
    ("colour", "is_right", "is_up"), [((0.7, 0.2, 0.2), False, True), ((0.2, 0.6, 0.6), True, False)]
)
def test_red_lies_high_and_left_on_the_vectorscope_and_cyan_low_and_right(window, colour, is_right, is_up):
    # ITU-R BT.709: Cb is across and Cr upward; red has Cb below and Cr above 0, cyan the other way round.
    _, opened = window
    opened.picture()
    count_flat(opened, colour)
    shown = drawn_again(opened)
    left, top, size = 1121, 9, 148
    plane = shown[:, top : top + size, left : left + size].min(axis=0) ** 12
    y, x = (n * plane for n in np.mgrid[:size, :size])
    x, y = x.sum() / plane.sum(), y.sum() / plane.sum()
    assert (x > size / 2, y < size / 2) == (is_right, is_up)


def test_scopes_are_counted_by_another_thread_as_they_are_by_the_desks_own(window):
    _, opened = window
    opened.picture()
    counted = opened.display.count(None)
    assert opened.display.count(None, is_waited=False) is None  # another thread has begun
    for _ in range(500):
        beside = opened.display.count(None, is_waited=False)
        if beside is not None:
            break
        time.sleep(0.01)
    np.testing.assert_array_equal(beside.parade, counted.parade)


def count_flat(opened, colour):
    grain = np.random.default_rng(5).uniform(-0.03, 0.03, (3, 96, 128))  # one level may fall between pixels
    flat = np.float32(grain + np.array(colour)[:, None, None])
    opened.display.painter.graded.write(flat)
    assert opened.display.count(None) is not None
