"""A master of a reel whose tracks move it from frame to frame: read back, made in parts, inserted into."""

from contextlib import contextmanager

import av
import msgspec
import numpy as np
import pytest

from lamphouse.graph.edits.start import Start, start_reel
from lamphouse.graph.edits.tracks import lay, switch, tracks_over
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.handover.cue_lut import TRACKS_STAY, write_lut
from lamphouse.graph.media.master.record import load_record
from lamphouse.graph.media.master.under_way import UnderWay
from lamphouse.graph.reel.records import Cue, Delivery, Track
from lamphouse.graph.reel.store import change, save
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.graph.transfer.farm.order import Order, engines
from lamphouse.graph.transfer.farm.segment import make_segment
from lamphouse.graph.transfer.insert import insert
from lamphouse.graph.transfer.made_of import made_of
from lamphouse.graph.transfer.plan import plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.graph.transfer.wanted import Wanted, stale_ranges
from lamphouse.nodes.catalogue import Catalogue

CATALOGUE = Catalogue()
FRAMES, WIDTH, HEIGHT = 24, 64, 48
DELIVERY = Delivery(container="matroska", codec="ffv1", pixel_format="gbrp10le", matrix="rgb", range="full")
STOPS = [0.0, *np.random.default_rng(2).normal(0, 0.15, FRAMES - 1).round(4).tolist()]  # invented
FLICKER = Track(
    parameter="exposure.stops", frame=4, frames=16, keys=tuple((n, -s) for n, s in enumerate(STOPS))
)
SHAKEN = Track(parameter="framing.position_x", frame=20, frames=4, keys=((20, 1 / HEIGHT),))  # by a pixel


@pytest.fixture(scope="module")
def reel_file(tmp_path_factory):
    """A reel over a scan of one picture by a gain of its light a frame, and tracks that undo some of it."""
    folder = tmp_path_factory.mktemp("tracks")
    picture = np.random.default_rng(7).uniform(0.1, 0.7, (3, HEIGHT, WIDTH))
    with av.open(str(folder / "scan.mkv"), "w") as container:
        stream = container.add_stream("ffv1", rate=25)
        stream.width, stream.height, stream.pix_fmt = WIDTH, HEIGHT, "gbrp10le"
        for stops in STOPS:
            codes = np.rint(picture * 2 ** (stops / 2.4) * 1023).astype(np.uint16)
            frame = av.VideoFrame(WIDTH, HEIGHT, "gbrp10le")
            for plane, channel in zip(frame.planes, codes[[1, 2, 0]], strict=True):
                lines = np.frombuffer(plane, np.uint16).reshape(HEIGHT, -1)
                lines[:, :WIDTH] = channel
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    path = folder / "film.reel"
    reel = start_reel(path, Start(folder / "scan.mkv", rate="25")).reel
    shade = Cue(frame=12, begins="transition", length=6, settings={"primary.gain": 0.9})
    reel = msgspec.structs.replace(reel, cues=(Cue(frame=0), shade))
    save(path, lay(reel, (FLICKER, SHAKEN), CATALOGUE))
    return path


@pytest.fixture(scope="module")
def master(reel_file):
    """The master of one pass over it."""
    return passed(reel_file, "m.mkv")


def passed(reel_file, name, **more):
    master = reel_file.with_name(name)
    pass_ = plan(open_reel(reel_file, CATALOGUE), DELIVERY, 0, FRAMES)
    transfer(pass_, master, lambda *done: None, **more)
    return master


@contextmanager
def silent(what):
    yield lambda *done: None


def test_what_a_track_undoes_is_undone_in_the_masters_codes_and_elsewhere_nothing(master, decode_planes):
    assert load_record(master).read_back
    made = [np.stack(planes).astype(int) for planes in decode_planes(master)]
    scanned = [np.stack(planes).astype(int) for planes in decode_planes(master.with_name("scan.mkv"))]
    np.testing.assert_array_equal(made[:4], scanned[:4])
    for frame in (4, 5):  # before the transition begins; a code is rounded twice
        assert abs(scanned[frame] - scanned[0]).max() > 5
        assert abs(made[frame] - scanned[0]).max() <= 1
    assert max(abs(made[frame] - made[12]).max() for frame in range(13, 20)) <= 1
    np.testing.assert_array_equal(made[21][:, :, 0], 0)


def test_segments_made_apart_and_one_pass_are_the_same_bytes(reel_file, master):
    parts = reel_file.with_name("parts.mkv")
    UnderWay(parts).segments.mkdir()
    pass_ = plan(open_reel(reel_file, CATALOGUE), DELIVERY, 0, FRAMES)
    with Grade(pass_.opened, 1) as grade:
        made = made_of(pass_, grade) | engines()
    for start, end in ((2, 9), (9, 22)):
        asked = Order(
            reel_file=str(reel_file),
            reel=pass_.reel,
            delivery=DELIVERY,
            first=0,
            stop=FRAMES,
            start=start,
            end=end,
            master=str(parts),
            made_of=made,
        )
        make_segment(asked, lambda *done: None, lambda: False)
    passed(reel_file, "parts.mkv", resume=True)
    assert parts.read_bytes() == master.read_bytes()
    assert load_record(parts).grades == load_record(master).grades


def test_a_lut_of_a_cue_carries_no_track_and_says_so(reel_file, tmp_path):
    opened = open_reel(reel_file, CATALOGUE)
    left = write_lut(opened, opened.reel.cues[1], tmp_path / "with.clf")
    assert left.notes == (TRACKS_STAY,)
    without = opened.with_reel(msgspec.structs.replace(opened.reel, tracks=()))
    assert write_lut(without, opened.reel.cues[1], tmp_path / "without.clf").notes == ()
    assert (tmp_path / "with.clf").read_bytes() == (tmp_path / "without.clf").read_bytes()


def test_a_track_switched_off_makes_its_frames_stale_and_an_insert_makes_those_anew(reel_file, master):
    change(reel_file, lambda reel: switch(reel, tracks_over(reel, 5), False))
    opened = open_reel(reel_file, CATALOGUE)
    assert stale_ranges(load_record(master), opened) == [range(4, 20)]
    insert(opened, master, Wanted(), silent)
    assert master.read_bytes() == passed(reel_file, "anew.mkv").read_bytes()
    assert stale_ranges(load_record(master), opened) == []
