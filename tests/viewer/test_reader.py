"""The scan is read on its own thread: the newest wish wins, an error is an answer, nothing ends it."""

import queue
import shutil

import numpy as np
import pytest

from lamphouse.graph.media.codes.decode_planes import Coded, Coding, to_rgb
from lamphouse.graph.media.codes.pixel_layout import Layout
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.viewer.models.scanned import Frame, smaller
from lamphouse.viewer.picture.reader import Reader
from lamphouse.viewer.turn.wishes import Wish


@pytest.fixture
def reader(reel_file):
    answers = queue.SimpleQueue()
    reading = Reader(open_reel(reel_file).open_scan, answers.put)
    yield reading, answers
    reading.close()


def test_a_frame_is_read_as_the_scan_holds_it(reader, scan_file):
    reading, answers = reader
    reading.ask(Wish(17))
    answer = answers.get(timeout=30)
    with open_scan(scan_file) as scan:
        np.testing.assert_array_equal(answer.found.picture(1), scan.read(17))
    reading.ask(Wish(17, (2, 1)))
    both = answers.get(timeout=30).found
    assert {d: both.picture(d).shape for d in both.divides} == {2: (3, 48, 64), 1: (3, 96, 128)}


def test_the_newest_wish_wins(reader):
    reading, answers = reader
    for frame in range(40):
        reading.ask(Wish(frame))
    found = []
    while not found or found[-1] != 39:
        found.append(answers.get(timeout=30).wish.frame)
    assert found == sorted(found)
    assert len(found) < 20


def test_a_scan_that_goes_away_is_a_sentence_and_one_that_comes_back_is_read(reel_file, scan_file, tmp_path):
    import msgspec

    own = tmp_path / "own.mkv"
    shutil.copy(scan_file, own)
    opened = open_reel(reel_file)
    scan = msgspec.structs.replace(opened.reel.scan, path="own.mkv")
    reel = msgspec.structs.replace(opened.reel, scan=scan)
    own.rename(tmp_path / "away.mkv")
    answers = queue.SimpleQueue()
    reading = Reader(opened.with_reel(reel).open_scan, answers.put)
    reading.ask(Wish(3))
    answer = answers.get(timeout=30)
    assert answer.found is None
    assert "own.mkv does not exist" in answer.reason
    (tmp_path / "away.mkv").rename(own)
    reading.ask(Wish(3))
    assert answers.get(timeout=30).found
    reading.close()


@pytest.mark.parametrize("divides", [(2,), (1, 2)])
def test_codes_made_smaller_are_the_picture_made_smaller(divides):
    random = np.random.default_rng(6)
    rgb = tuple(random.integers(0, 65536, (3, 9, 12)).astype(np.uint16))
    halved = tuple(random.integers(64, 941, (9, width)).astype(np.uint16) for width in (12, 6, 6))
    for coded in (
        Coded(rgb, Layout("rgb", 16, 0, "<u2", ()), Coding(None, "full")),
        Coded(rgb, Layout("ycbcr", 16, 0, "<u2", ()), Coding("bt709", "video")),
        Coded(halved, Layout("ycbcr", 10, 0, "<u2", (), (2, 1)), Coding("bt709", "video")),
    ):
        meant = smaller(to_rgb(coded), 2)
        np.testing.assert_allclose(Frame(coded, divides).picture(2), meant, rtol=0, atol=1e-6)


def test_a_smaller_picture_has_the_means_of_squares():
    picture = np.arange(3 * 5 * 7, dtype=np.float32).reshape(3, 5, 7)
    found = smaller(picture, 2)
    assert found.shape == (3, 2, 3)
    assert found[0, 0, 0] == np.mean([0, 1, 7, 8])
    assert found[2, 1, 2] == picture[2, 2:4, 4:6].mean()
