"""A finished master beside its reel: the right picture at every frame, and a sentence where there is none."""

import math
from contextlib import ExitStack, closing
from dataclasses import replace
from pathlib import Path

import msgspec
import numpy as np
import pytest

from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.master.delivery import delivery as delivery_of
from lamphouse.graph.media.master.record import record_path
from lamphouse.graph.reel.records import Delivery
from lamphouse.graph.reel.store import load
from lamphouse.graph.reel_files.opened import OpenedReel, open_reel
from lamphouse.graph.transfer.plan import plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.comparison import SIDE, WIPE
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.picture.finished import Finished
from lamphouse.viewer.picture.reader import NotThere
from lamphouse.viewer.turn.display import Look

pytestmark = pytest.mark.slow  # each draws windows by graphics in software

TWO_CODES = 2 / 876  # of signal: ITU-R BT.709, 10 bits
NEAR = (
    5 / 255
)  # of what is shown: near black a code of signal is several of the monitor's, and there is noise
RGB = Delivery(container="matroska", codec="ffv1", pixel_format="gbrp10le", matrix="rgb", range="full")
LED_IN = msgspec.structs.replace(RGB, bars=3, black_before=2, black_after=4)


def made(reel_file, name, delivery=RGB, start=0, stop=40, reel=None):
    """A real master of the reel beside it."""
    path = reel_file.with_name(name)
    transfer(
        plan(OpenedReel(reel_file, reel or load(reel_file), Catalogue()), delivery, start, stop),
        path,
        lambda *done: None,
    )
    return path


def graded(reel_file, frame):
    opened = open_reel(reel_file, Catalogue())
    with opened.open_scan() as scan, Grade(opened) as grade:
        return np.clip(grade.correct(frame, scan.read(frame)), 0, 1)


def read(master, frame):
    from lamphouse.graph.media.codes.decode_planes import Coded, to_rgb

    found = master.read_coded(frame)
    return to_rgb(found) if isinstance(found, Coded) else found


def test_a_master_led_in_by_bars_and_black_has_the_graded_picture_at_every_frame(reel_file):
    master = Finished(made(reel_file, "cat.mkv", LED_IN), load(reel_file))
    for frame in (0, 17, 39, 3):
        np.testing.assert_allclose(read(master, frame), graded(reel_file, frame), atol=TWO_CODES)
    assert master.part == (0, 0, 1, 1)
    master.close()


@pytest.mark.parametrize("said", [{"primaries": "bt2020"}, {"primaries": "p3-d65", "transfer": "srgb"}])
def test_a_master_in_another_colour_is_shown_as_the_picture_that_it_is(reel_file, said):
    path = made(reel_file, "cat.mkv", msgspec.structs.replace(RGB, **said), 0, 3)
    by_record = read(Finished(path, load(reel_file)), 1)
    # In light, for next to black a code is many of signal.
    shown = np.maximum(by_record, 0) ** 2.4
    np.testing.assert_allclose(shown, graded(reel_file, 1) ** 2.4, atol=2 * TWO_CODES)
    path.with_name("cat.mkv.record.json").unlink()
    np.testing.assert_array_equal(read(Finished(path, load(reel_file)), 1), by_record)


def test_a_master_of_some_frames_lies_at_their_place_and_says_where_it_ends(reel_file):
    reel = msgspec.structs.replace(load(reel_file), head_mark=7, rate="30000/1001")
    master = Finished(made(reel_file, "part.mkv", start=10, stop=20, reel=reel), reel)
    for frame in (10, 19):
        np.testing.assert_allclose(read(master, frame), graded(reel_file, frame), atol=TWO_CODES)
    for frame, place in ((9, "10:00:00;02"), (20, "10:00:00;13")):
        with pytest.raises(NotThere) as said:
            master.read_coded(frame)
        assert str(said.value) == f"part.mkv runs from 10:00:00;03 to 10:00:00;12; {place} is not in it."
    master.close()


def test_a_master_in_fields_has_the_picture_of_each_film_frame_where_it_begins(reel_file):
    fields = msgspec.structs.replace(RGB, rate="29.97", scanning="top-first", cadence="2:3")
    master = Finished(made(reel_file, "fields.mkv", fields, start=4, stop=20), load(reel_file))
    for frame in (4, 8, 12):  # each fourth begins a frame of the master, and fills it
        np.testing.assert_allclose(read(master, frame), graded(reel_file, frame), atol=TWO_CODES)
    with pytest.raises(NotThere, match="shows frames 4 to 19 of the reel; frame 20 is not in it"):
        master.read_coded(20)
    master.close()


def test_stills_without_timecode_begin_with_the_reel_after_the_bars_of_a_delivery_as_long(reel_file):
    tiff = msgspec.structs.replace(delivery_of("tiff-16", {}), sound=None, bars=2, black_before=1)
    folder = made(reel_file, "stills", tiff)
    reel = msgspec.structs.replace(load(reel_file), deliveries={"other": LED_IN, "stills": tiff})
    master = Finished(folder, reel)
    np.testing.assert_allclose(read(master, 21), graded(reel_file, 21), atol=TWO_CODES)
    (folder / "stills.000024.tif").unlink()
    with pytest.raises(BadInput, match=r"stills\.000024\.tif.*transfer it again"):
        master.read_coded(21)
    master.close()
    plain = Finished(made(reel_file, "plain", msgspec.structs.replace(tiff, bars=0, black_before=0)), reel)
    np.testing.assert_allclose(read(plain, 21), graded(reel_file, 21), atol=TWO_CODES)
    with pytest.raises(NotThere, match="ends at frame 39, before frame 40"):
        plain.read_coded(40)
    plain.close()


@pytest.mark.parametrize(
    ("width", "height", "pixel_aspect", "part"),
    [(160, 96, "1", (0.1, 0, 0.8, 1)), (128, 120, "1", (0, 0.1, 1, 0.8)), (160, 96, "4/5", (0, 0, 1, 1))],
)
def test_the_part_of_the_raster_that_the_picture_fills_is_found(reel_file, width, height, pixel_aspect, part):
    fitted = msgspec.structs.replace(RGB, width=width, height=height, pixel_aspect=pixel_aspect)
    master = Finished(made(reel_file, "fitted.mkv", fitted), load(reel_file))
    assert master.part == pytest.approx(part)
    picture = read(master, 30)
    left, top, wide, high = (round(s * n) for s, n in zip(part, (width, height) * 2, strict=True))
    inner = picture[:, top : top + high, left : left + wide]
    if inner.shape[1:] == (96, 128):
        np.testing.assert_allclose(inner, graded(reel_file, 30), atol=TWO_CODES)
    assert picture.sum() == pytest.approx(inner.sum())  # the rest is black
    master.close()
    record_path(master.path).unlink()
    bare = Finished(master.path, load(reel_file))
    assert bare.part == pytest.approx(part)  # as its raster and its pixels say
    bare.close()


def test_where_the_scan_lies_in_a_master_that_it_fills_is_known_by_its_record(reel_file):
    filled = msgspec.structs.replace(RGB, width=160, height=96, shape="fill")
    master = Finished(made(reel_file, "filled.mkv", filled, stop=2), load(reel_file))
    assert master.part == pytest.approx((0, -0.125, 1, 1.25))  # 4:3 in 5:3: a tenth is lost above and below
    master.close()


def test_a_lossy_master_is_read_at_the_right_frame(reel_file):
    h264 = msgspec.structs.replace(
        delivery_of("viewing-h264", {}), width=None, height=None, sound=None, options={"crf": "4"}
    )
    master = Finished(made(reel_file, "cat.mp4", h264, start=5), load(reel_file))
    found = read(master, 23)
    errors = [np.abs(found - graded(reel_file, frame)).mean() for frame in (22, 23, 24)]
    assert errors[1] < 0.02
    assert errors[1] < 0.6 * min(errors[0], errors[2])
    master.close()


def test_another_file_in_the_place_of_the_master_is_read_instead(reel_file):
    path = made(reel_file, "cat.mkv")
    master = Finished(path, load(reel_file))
    read(master, 12)
    other = made(reel_file, "other.mkv", start=10, stop=14)
    other.replace(path)
    np.testing.assert_allclose(read(master, 12), graded(reel_file, 12), atol=TWO_CODES)
    with pytest.raises(NotThere):
        master.read_coded(20)
    path.unlink()
    with pytest.raises(BadInput, match="does not exist"):
        master.read_coded(12)


def test_a_damaged_frame_is_one_sentence_and_the_others_are_read(reel_file):
    path = made(reel_file, "cat.mkv")
    data = bytearray(path.read_bytes())
    middle = len(data) // 2
    data[middle : middle + 64] = bytes(byte ^ 0x55 for byte in data[middle : middle + 64])
    path.write_bytes(data)
    master = Finished(path, load(reel_file))
    said = []
    for frame in range(40):
        try:
            found = read(master, frame)
        except BadInput as error:
            said.append(str(error))
        else:
            np.testing.assert_allclose(found, graded(reel_file, frame), atol=TWO_CODES)
    assert len(said) == 1
    assert "cat.mkv is damaged" in said[0]
    assert said[0].endswith("; transfer it again.")
    master.close()


def test_a_master_at_another_rate_is_refused(reel_file):
    path = made(reel_file, "cat.mkv")
    with pytest.raises(BadInput, match="24 frames a second and the reel at 25"):
        Finished(path, msgspec.structs.replace(load(reel_file), rate="25"))


@pytest.fixture
def window(reel_file, unseen):
    """A function that opens the desk's window, seen by nobody; each closes with the test."""
    from lamphouse.viewer.window.session import Session

    opened = ExitStack()

    def window(**changes):
        desk = Desk(open_reel(reel_file, Catalogue()))
        seen_by_nobody = opened.enter_context(unseen((1280, 800)))
        return desk, opened.enter_context(closing(Session(seen_by_nobody, desk)))

    with opened:
        yield window


def halves(window):
    """The middle of the left and of the right picture as the window shows them."""
    shown = window.picture()
    view = window.panels.picture
    (width, height), at = view.size, [round(place) for place in view.at]
    left, middle, top = at[0], at[0] + width // 2, at[1] + height // 2
    return [shown[:, top - 20 : top + 20, x + 20 : x + width // 2 - 20] for x in (left, middle)]


def test_the_window_shows_the_masters_picture_and_the_surround_where_it_has_none(reel_file, window):
    part = made(reel_file, "part.mkv", start=10, stop=20)
    desk, desks = window()
    desk.go_to(12, 0)
    desk.comparison.choose_master(part)
    desk.comparison.way = SIDE
    mine, masters = halves(desks)
    np.testing.assert_allclose(masters, mine, atol=NEAR)
    painter = desks.display.painter
    np.testing.assert_allclose(painter.other.read(), graded(reel_file, 12), atol=TWO_CODES)
    np.testing.assert_allclose(desks.loop.seen.other.picture, painter.other.read(), atol=1e-3)
    desk.go_to(30, 0)
    mine, masters = halves(desks)
    assert np.unique(masters).tolist() == pytest.approx([0x1B / 255], abs=1e-6)
    assert mine.std() > 0.05
    assert "10:00:01:06 is not in it" in desk.troubles.of("other")
    desk.comparison.choose_master(reel_file)  # no master at all
    mine, masters = halves(desks)
    assert np.ptp(masters) == 0
    assert len(desk.troubles.of("other").splitlines()) == 1
    assert "cat.reel" in desk.troubles.of("other")
    desk.comparison.choose_master(part)
    desk.go_to(19, 0)
    mine, masters = halves(desks)
    np.testing.assert_allclose(masters, mine, atol=NEAR)
    assert desk.troubles.lines == ()


def test_the_shown_edge_of_a_wipe_runs_at_its_angle(reel_file, window):
    desk, desks = window()
    desk.comparison.way = WIPE
    desks.picture()
    painter = desks.display.painter
    painter.graded.write(np.zeros((3, 96, 128), np.float32))
    painter.other.write(np.ones((3, 96, 128), np.float32))
    from lamphouse.viewer.models.panels import Area
    from lamphouse.viewer.picture.painter import Canvas

    comparison = replace(desk.comparison, middle=(0.5, 0.5), angle=math.pi / 4)
    painter.show(Look((300, 200), Area(0, 0, 300, 200), comparison.edge(1.5)), "alone")
    shown = Canvas.read(painter.shown["alone"])[0] > 0.8
    y, x = np.mgrid[:200, :300]
    beyond = (x + 0.5 - 150) + (y + 0.5 - 100)
    assert shown[beyond > 2].all()
    assert not shown[beyond < -2].any()
    edge = replace(comparison, way=SIDE).edge(0.75)
    painter.show(Look((300, 200), Area(0, 0, 150, 200), edge, seam=150), "alone")
    beside = Canvas.read(painter.shown["alone"])[0] > 0.8
    assert beside[:, 150:].all()
    assert not beside[:, :150].any()


def test_a_master_that_is_not_there_is_one_sentence_at_the_command_line(reel_file):
    from lamphouse.viewer.window.open_desk import draw_desk

    with pytest.raises(BadInput, match=r"nope\.mkv does not exist; give"):
        draw_desk(reel_file, Path("d.png"), "0", (800, 600), master=Path("nope.mkv"))
