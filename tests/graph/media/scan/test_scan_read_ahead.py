"""Reading ahead: in order, never far, and it always ends. Invented scans; no source."""

import threading

import numpy as np
import pytest

from lamphouse.graph.media.scan.read_ahead import read_ahead
from lamphouse.graph.media.scan.scan import Scan
from lamphouse.nodes.errors import BadInput

LONG = 10  # seconds after which something that should have happened has not


class Counted(Scan):
    """A scan of 100 frames that notes how far ahead of its consumer it is read; frame `bad` is damaged."""

    def __init__(self, bad=None):
        self.frames, self.bad = 100, bad
        self.taken, self.farthest, self.read_last = 0, 0, -1
        self.reached = {frame: threading.Event() for frame in range(100)}

    def read_coded(self, frame):
        self.farthest = max(self.farthest, frame - self.taken)
        self.read_last = frame
        self.reached[frame].set()
        if frame == self.bad:
            raise BadInput(f"frame {frame} is damaged")
        return np.full((3, 1, 1), frame, np.float32)

    def close(self):
        pass


def readers():
    return [thread for thread in threading.enumerate() if thread.name == "read-ahead"]


def test_frames_come_in_order_and_never_more_than_depth_ahead():
    scan, seen = Counted(), []
    for frame, picture in read_ahead(scan.read, range(5, 95), depth=3):
        scan.taken = frame + 1
        seen.append((frame, int(picture[0, 0, 0])))
    assert seen == [(frame, frame) for frame in range(5, 95)]
    assert scan.farthest <= 5 + 3  # before the first is taken, `taken` is still 0
    assert not readers()


def test_reading_runs_ahead_while_the_consumer_works():
    scan = Counted()
    frames = read_ahead(scan.read, range(100), depth=4)
    assert next(frames)[0] == 0
    assert scan.reached[3].wait(LONG)
    assert not scan.reached[4].is_set()  # the frame in the consumer's hands counts
    frames.close()


def test_an_error_is_raised_when_its_frame_is_due():
    frames = read_ahead(Counted(bad=3).read, range(100), depth=8)
    assert [next(frames)[0] for _ in range(3)] == [0, 1, 2]
    with pytest.raises(BadInput, match="frame 3 is damaged"):
        next(frames)
    assert not readers()


@pytest.mark.parametrize("taken", [0, 1, 5])
def test_closing_early_ends_the_thread_even_while_it_waits_for_room(taken):
    scan = Counted()
    frames = read_ahead(scan.read, range(100), depth=1)
    for _ in range(taken):
        next(frames)
    frames.close()
    assert not readers()
    assert scan.read_last <= taken


def test_an_empty_range_gives_nothing():
    assert list(read_ahead(Counted().read, range(7, 7))) == []
