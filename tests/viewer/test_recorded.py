"""What the record page shows, made ready on a thread: pictures with scopes, what is stale, and joins."""

from threading import Event

import msgspec
import numpy as np
import pytest

from lamphouse.graph.media.codes.decode_planes import to_rgb
from lamphouse.graph.media.codes.encode_planes import plane_coding
from lamphouse.graph.media.master.delivery import delivery
from lamphouse.graph.media.master.record import load_record, record_path
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.graph.reel.records import Cue
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.graph.transfer.delivered import delivered
from lamphouse.graph.transfer.insert import insert
from lamphouse.graph.transfer.plan import plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.graph.transfer.wanted import Wanted
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.viewer.jobs.said import Pair
from lamphouse.viewer.jobs.small import small
from lamphouse.viewer.jobs.stale import joins_of, last_master, stale_of
from lamphouse.viewer.models.monitors import MONITORS, SRGB
from lamphouse.viewer.models.record_asked import RecordAsked, StaleCase
from lamphouse.viewer.picture.recorded import Recorded

LONG = 60


@pytest.fixture
def recorded():
    """Who makes things ready, and a function that asks and gives what came."""
    come = Event()
    one = Recorded(come.set, MONITORS[SRGB])

    def ask(asked):
        one.ask(asked)
        while True:
            assert come.wait(LONG)
            come.clear()
            found = one.take()
            if found[0] is not None:
                return found

    yield ask
    one.close()


@pytest.fixture
def opened(reel_file):
    return open_reel(reel_file, Catalogue())


@pytest.fixture
def master(opened):
    """A master of the reel, as the command makes it."""
    path = opened.file.with_name("m.mkv")
    transfer(plan(opened, delivery("scan-ffv1", {}), 0, 40), path, lambda *done: None)
    return path


@pytest.fixture
def changed(opened):
    """The reel with another cue at frame 30."""
    cues = (*opened.reel.cues, Cue(frame=30, name="three", settings={"primary.gain": 0.5}))
    return opened.with_reel(msgspec.structs.replace(opened.reel, cues=cues))


def grey(code, wide=64):
    coding = plane_coding("yuv444p10le", "bt709", "video")
    return small([np.full((48, wide), value, np.uint16) for value in (code, 512, 512)], coding)


def test_both_pictures_of_a_frame_are_drawn_as_the_monitor_shows_their_codes(recorded):
    _, texels = recorded(RecordAsked(pair=Pair(3, grey(940), grey(502))))
    # White of BT.709 at 940 is white; 502 is a signal of 0.5, light 0.5 ** 2.4, and sRGB's code of that 124.
    light = 0.5**2.4
    assert texels["sent picture"][0, 0].tolist() == [255, 255, 255, 255]
    assert texels["came picture"][5, 5, 0] == round(255 * (1.055 * light ** (1 / 2.4) - 0.055))
    assert texels["came parade"].any()
    assert texels["came plane"].any()


def test_what_has_not_come_back_yet_is_not_drawn(recorded):
    _, texels = recorded(RecordAsked(pair=Pair(3, grey(940), None)))
    assert set(texels) == {"sent picture", "sent parade", "sent plane"}


def test_the_last_master_beside_a_reel_is_found_by_its_record_and_is_stale_where_the_grade_is_another(
    recorded, opened, changed, master
):
    found, _ = recorded(RecordAsked(stale=StaleCase(opened, None)))
    assert (found.stale.master, found.stale.numbers) == (master, ())
    found, _ = recorded(RecordAsked(stale=StaleCase(changed, master)))
    assert (found.stale.numbers, found.stale.frames) == ((range(30, 40),), (range(30, 40),))
    assert found.stale.sentence == "1 shot, 10 frames are older than the grade."


def test_a_record_of_another_reel_or_none_is_not_taken_for_the_last_master(opened, master):
    record_path(master.with_name("broken.mkv")).write_text("{}")
    master.with_name("broken.mkv").touch()
    assert last_master(opened.file) == master
    assert last_master(opened.file.with_name("other.reel")) is None
    assert stale_of(opened.with_reel(opened.reel), opened.file).reason


@pytest.mark.slow
def test_joins_show_the_masters_own_frames_and_those_that_would_be_made_and_after_an_insert_the_new_ones(
    changed, master
):
    record = load_record(master)
    found = joins_of(changed, master, record, range(30, 40))
    assert set(found.now) == set(found.new) == {"before", "first", "last"}
    with open_scan(master) as pictures, changed.open_scan() as scan:
        np.testing.assert_allclose(found.now["first"], pictures.read(30), atol=1e-6)
        made = to_rgb(delivered(changed, record.delivery, scan, 39))
    np.testing.assert_allclose(found.new["last"], made, atol=1e-6)
    assert np.array_equal(found.new["before"], found.now["before"])
    ((then, would),) = (pair for pair in found.steps if pair[0] is not None)
    assert would > then
    insert(changed, master, Wanted(), _silent)
    after = joins_of(changed, master, load_record(master), range(30, 40))
    np.testing.assert_allclose(after.now["first"], found.new["first"], atol=1e-6)


class _silent:
    """Nobody who looks how far it is."""

    def __init__(self, what):
        self.what = what

    def __enter__(self):
        return lambda *done: None

    def __exit__(self, *error):
        return None
