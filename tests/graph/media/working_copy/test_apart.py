"""A process of its own makes a copy: it ends with whoever began it, however that ends; another goes on."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from contextlib import ExitStack
from queue import SimpleQueue

import pytest

from lamphouse.graph.files.locks import locked
from lamphouse.graph.files.record import spread
from lamphouse.graph.media.codes.decode_planes import to_rgb
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.graph.media.statistics.kept import KeptStatistics
from lamphouse.graph.media.statistics.statistics import measured
from lamphouse.graph.media.working_copy import apart
from lamphouse.graph.media.working_copy.apart import Apart
from lamphouse.graph.media.working_copy.copy import SEGMENT, working_copy_of
from lamphouse.graph.media.working_copy.room import Room

FFV1 = {"level": "3", "g": "1", "slices": "4", "slicecrc": "1"}
COUNT = 20 * SEGMENT
LONG = 60  # seconds after which a test gives up
NO_SPARE = Room(spare=0)

BEGUN_AND_KILLED = """
import json, os, signal, sys
from pathlib import Path
from lamphouse.graph.files.record import gather
from lamphouse.graph.media.working_copy.apart import Apart
from lamphouse.graph.media.working_copy.copy import working_copy_of
from lamphouse.graph.media.working_copy.room import Room
from lamphouse.graph.reel.records import ScanRef

def said(progress):
    if progress.done:
        os.kill(os.getpid(), signal.SIGKILL)

scan, path = gather(json.loads(sys.argv[1]), ScanRef), Path(sys.argv[2])
made = Apart(working_copy_of(scan, path), said, room=Room(spare=0))
signal.pause()
"""


@pytest.fixture
def copy(tmp_path, numbered_movie, reference):
    """The copy of a movie that takes a while."""
    path = numbered_movie(tmp_path / "scan.mkv", "ffv1", count=COUNT, size=(48, 16), options=FFV1)
    return working_copy_of(reference(path), path)


def test_what_somebody_waits_for_gives_way_in_part_and_a_copy_wholly(monkeypatch):
    asked = []
    monkeypatch.setattr(os, "nice", asked.append)
    monkeypatch.setattr(os, "sched_setscheduler", lambda *given: asked.append("idle"))
    apart.give_way(apart.SOME)
    apart.give_way()
    assert asked == [10, "idle"]


def is_whole(copy, number_in):
    with copy.open() as opened:
        return all(number_in(to_rgb(opened.read_coded(frame))) == frame for frame in range(COUNT))


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="there is no such signal")
def test_a_killed_process_is_told_of_and_the_next_goes_on_from_there(copy, number_in):
    said = SimpleQueue()
    first = Apart(copy, said.put, room=NO_SPARE)
    while not said.get(timeout=LONG).done:
        pass
    os.kill(first.pid, signal.SIGKILL)
    last = said.get(timeout=LONG)
    while not last.is_over:
        last = said.get(timeout=LONG)
    first.close()
    assert "has ended; turn it off and on again" in last.reason
    assert SEGMENT <= copy.made() < COUNT
    second = Apart(copy, said.put, room=NO_SPARE)
    while (last := said.get(timeout=LONG)).done < COUNT:
        assert not last.reason
    second.close()
    assert is_whole(copy, number_in)


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="there is no such signal")
def test_it_ends_with_a_desk_that_is_killed(copy):
    told = [json.dumps(spread(copy.scan)), str(copy.path)]
    ended = subprocess.run([sys.executable, "-c", BEGUN_AND_KILLED, *told], check=False, timeout=LONG)
    assert ended.returncode == -signal.SIGKILL
    with locked(copy.folder / "copy", LONG):  # which its process holds while it lives
        assert SEGMENT <= copy.made() < COUNT


@pytest.mark.slow
def test_what_another_process_makes_is_waited_for(copy, monkeypatch):
    said = []

    def looks(seconds):
        said.append(seconds)
        holding.close()

    monkeypatch.setattr(apart, "_say", said.append)
    monkeypatch.setattr(apart.time, "sleep", looks)
    holding = ExitStack()
    copy.folder.mkdir(parents=True, mode=0o700)
    holding.enter_context(locked(copy.folder / "copy"))
    apart._make(copy, lambda: 0, NO_SPARE)
    assert said[:2] == [apart.Progress(0, COUNT), apart.ANOTHER]
    assert said[-1] == apart.Progress(COUNT, COUNT)


@pytest.mark.slow
def test_why_it_stops_is_told_in_the_words_of_the_maker(copy):
    said = SimpleQueue()
    with_no_room = Apart(copy, said.put, room=Room(most=1))
    while not (last := said.get(timeout=LONG)).is_over:
        pass
    with_no_room.close()
    assert last.reason.startswith(f"The working copy stops at 0 of {COUNT} frames: there is no more room")


@pytest.mark.slow
def test_the_scan_is_measured_in_the_pass_that_makes_its_copy(copy, monkeypatch):
    monkeypatch.setattr(apart, "_say", lambda progress: None)
    apart._make(copy, lambda: 0, NO_SPARE)
    kept = KeptStatistics(copy.scan, copy.path)
    assert kept.missing() == []
    with open_scan(copy.path) as scan:
        straight = measured([scan.read_coded(frame) for frame in range(COUNT)], COUNT)
    assert kept.statistics().rows.tobytes() == straight.rows.tobytes()
