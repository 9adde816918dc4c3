"""A copy is made file by file, and nothing that befalls its maker makes it wrong."""

from __future__ import annotations

import os
import resource
from contextlib import contextmanager

import av
import numpy as np
import OpenImageIO as oiio
import pytest

from lamphouse.graph.files.locks import Held, locked
from lamphouse.graph.media.codes.decode_planes import to_rgb
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.graph.media.working_copy import copy as copies
from lamphouse.graph.media.working_copy.copy import SEGMENT, NotInCopy, working_copy_of
from lamphouse.graph.media.working_copy.make import make_working_copy
from lamphouse.graph.media.working_copy.room import IN_USE, LONGEST, Room
from lamphouse.graph.reel.records import ScanRef
from lamphouse.nodes.errors import BadInput

FFV1 = {"level": "3", "g": "1", "slices": "4", "slicecrc": "1"}
COUNT = 3 * SEGMENT + 5
NO_SPARE = Room(spare=0)


@pytest.fixture
def scan(tmp_path, numbered_movie):
    """A movie whose every picture shows its number."""
    return numbered_movie(tmp_path / "scan.mkv", "ffv1", count=COUNT, size=(48, 16), options=FFV1)


@pytest.fixture
def copy(scan, reference):
    """The copy of that movie, of which there is nothing yet."""
    return working_copy_of(reference(scan), scan)


def make(copy, **how):
    make_working_copy(copy, lambda: open_scan(copy.path), **({"room": NO_SPARE} | how))


def numbers(copy, frames, number_in):
    with copy.open() as opened:
        return [number_in(to_rgb(opened.read_coded(frame))) for frame in frames]


def had(copy):
    return [frame for frame in range(copy.frames) if copy.has(frame)]


def left_over(copy):
    """Files in the copy's folder that are neither frames, nor a person's note, nor a lock."""
    return [file for file in copy.folder.iterdir() if not file.name.endswith((".frames", ".txt", ".lock"))]


def test_every_frame_is_found_in_any_order(copy, number_in):
    make(copy)
    backwards = range(COUNT - 1, -1, -1)
    assert numbers(copy, backwards, number_in) == list(backwards)
    assert numbers(copy, range(0, COUNT, 10), number_in) == list(range(0, COUNT, 10))


def test_a_frame_is_one_read_wherever_the_last_one_was(copy, monkeypatch):
    make(copy)
    read, unpacked = [], copies.unpacked
    monkeypatch.setattr(copies, "unpacked", lambda *given: read.append(len(given[0])) or unpacked(*given))
    with copy.open() as opened:
        for frame in (90, 80, 70, 69, 3):
            opened.read_coded(frame)
    assert read == [copy.bytes_a_frame] * 5


def test_it_is_of_use_while_it_grows_from_the_place_that_is_worked_at(copy):
    grown = []
    make(
        copy, first=lambda: SEGMENT + 3, said=lambda done, frames: grown.append((done, frames, had(copy)[:1]))
    )
    assert [done for done, _, _ in grown] == [0, SEGMENT, 2 * SEGMENT, 2 * SEGMENT + 5, COUNT]
    assert grown[1] == (SEGMENT, COUNT, [SEGMENT])
    assert had(copy) == list(range(COUNT))


def test_a_scan_of_another_raster_than_the_reel_says_is_refused(scan, copy):
    other = ScanRef(path=copy.scan.path, frames=COUNT, width=48, height=18)
    wrong = working_copy_of(other, scan)
    with pytest.raises(BadInput, match="is 48x16 and not 48x18"):
        make(wrong)
    assert had(wrong) == []


def test_it_follows_a_person_who_goes_elsewhere(copy):
    places, had_then = iter([0, 2 * SEGMENT + 9, 0, 0]), []
    make(copy, first=lambda: next(places), said=lambda *_: had_then.append(had(copy)[::SEGMENT]))
    assert had_then == [[], [0], [0, 64], [0, 32, 64], [0, 32, 64, 96]]


def test_what_is_not_there_yet_is_refused(copy):
    with copy.open() as opened, pytest.raises(NotInCopy, match="lacks frame 4"):
        opened.read_coded(4)
    assert not any(copy.has(frame) for frame in (-1, 4, COUNT))


def test_a_damaged_frame_is_a_hole_and_the_rest_is_there(scan, copy, number_in):
    spoil(scan, 40)
    copy = working_copy_of(copy.scan, scan)
    make(copy)
    assert set(range(COUNT)) - set(had(copy)) == {40}
    assert copy.made() == COUNT
    assert numbers(copy, [39, 41], number_in) == [39, 41]


def spoil(path, packet):
    """Turn over eight bytes in the middle of a packet: its checksum (RFC 9043) tells."""
    with av.open(str(path)) as container:
        found = [(each.pos, bytes(each)) for each in container.demux(video=0) if each.size]
    position, content = found[packet]
    data = bytearray(path.read_bytes())
    start = data.index(content, position) + len(content) // 2
    data[start : start + 8] = bytes(byte ^ 0x5A for byte in data[start : start + 8])
    path.write_bytes(data)


def test_stills_that_are_missing_are_holes(tmp_path, reference):
    folder = tmp_path / "scan"
    folder.mkdir()
    for number in (1, 2, 4):
        output = oiio.ImageOutput.create("a.tif")
        output.open(str(folder / f"a.{number}.tif"), oiio.ImageSpec(8, 4, 3, "uint8"))
        output.write_image(np.full((4, 8, 3), number, np.uint8))
        output.close()
    copy = working_copy_of(reference(folder), folder)
    make(copy)
    assert had(copy) == [0, 1, 3]
    with copy.open() as opened:
        assert round(float(to_rgb(opened.read_coded(3)).mean() * 255)) == 4


def test_a_scan_that_changed_has_another_copy(scan, copy, reference):
    make(copy)
    os.utime(scan, (1, 1))
    assert not working_copy_of(reference(scan), scan).has(0)
    assert not working_copy_of(replace_matrix(copy.scan), scan).has(0)


def replace_matrix(scan):
    return type(scan)(
        path=scan.path, frames=scan.frames, width=scan.width, height=scan.height, matrix="bt2020"
    )


def test_a_scan_that_changes_while_it_is_copied_leaves_nothing_of_both(scan, copy):
    def change(done, _frames):
        if done == SEGMENT:
            os.utime(scan, (1, 1))

    with pytest.raises(BadInput, match=rf"stops at {SEGMENT} of {COUNT} frames: scan.mkv has changed"):
        make(copy, said=change)
    assert had(copy) == list(range(SEGMENT))


def test_a_scan_that_goes_away_is_not_taken_for_damaged(scan, copy):
    with pytest.raises(BadInput, match=r"stops at 32 of 101 frames: scan\.mkv has changed"):
        make(copy, said=lambda done, _frames: scan.unlink() if done == SEGMENT else None)
    assert had(copy) == list(range(SEGMENT))


def test_it_goes_on_where_it_was_stopped_and_clears_what_a_kill_left(copy, number_in):
    asked = iter([False] * (SEGMENT + 7) + [True] * 2)
    make(copy, stopped=lambda: next(asked))
    assert had(copy) == list(range(SEGMENT))
    assert left_over(copy) == []
    (copy.folder / ".000001.frames.0123456789abcdef.new").write_bytes(b"half")
    opened = []
    make_working_copy(copy, lambda: opened.append(1) or open_scan(copy.path), room=NO_SPARE)
    make_working_copy(copy, lambda: opened.append(2) or open_scan(copy.path), room=NO_SPARE)
    assert numbers(copy, [0, 40, COUNT - 1], number_in) == [0, 40, COUNT - 1]
    assert left_over(copy) == []
    assert opened == [1]


def test_one_process_makes_it_and_another_is_told_so(copy):
    make(copy, stopped=lambda: True)
    with locked(copy.folder / "copy"), pytest.raises(Held):
        make(copy)


def test_a_file_that_is_cut_off_is_made_anew(copy, number_in):
    make(copy)
    with copy.path_of(1).open("r+b") as file:
        file.truncate(1000)
    again = working_copy_of(copy.scan, copy.path)
    assert [again.has(frame) for frame in (0, SEGMENT)] == [True, False]
    make(again)
    assert numbers(again, [SEGMENT], number_in) == [SEGMENT]


def test_a_file_that_is_taken_away_is_had_no_longer(copy, number_in):
    make(copy)
    assert copy.has(SEGMENT)
    copy.path_of(1).unlink()
    with copy.open() as opened:
        assert number_in(to_rgb(opened.read_coded(0))) == 0
        with pytest.raises(NotInCopy, match="read from the scan"):
            opened.read_coded(SEGMENT)
    assert not copy.has(SEGMENT)
    assert copy.has(0)


@contextmanager
def files_of_at_most(size):
    """The system refuses larger files, as a full disk would."""
    limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, limits[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limits)


def test_a_full_disk_stops_it_with_a_sentence_and_nothing_is_lost(copy):
    make(copy, first=lambda: COUNT, stopped=lambda: copy.made() > 0)
    with files_of_at_most(50_000), pytest.raises(BadInput) as told:
        make(copy)
    assert "The working copy stops at 5 of 101 frames" in str(told.value)
    assert "make room" in str(told.value)
    assert had(copy) == list(range(3 * SEGMENT, COUNT))
    assert left_over(copy) == []
    make(copy)
    assert copy.made() == COUNT


def test_the_copy_that_was_longest_of_no_use_makes_room(tmp_path, reference, numbered_movie):
    made = []
    for age, name in ((3 * IN_USE, "a"), (2 * IN_USE, "b"), (0, "c"), (0, "d")):
        path = numbered_movie(tmp_path / f"{name}.mkv", "ffv1", count=8, size=(32, 16), options=FFV1)
        copy = working_copy_of(reference(path), path)
        need = 3.5 * 8 * copy.bytes_a_frame  # three copies and no fourth
        make(copy, room=Room(most=int(need), spare=0))
        then = copy.folder.stat().st_mtime - age
        os.utime(copy.folder, (then, then))
        made.append(copy)
    assert [working_copy_of(copy.scan, copy.path).has(0) for copy in made] == [False, True, True, True]


def test_a_copy_that_nobody_wants_any_more_goes_by_itself(tmp_path, copy, reference, numbered_movie):
    make(copy)
    then = copy.folder.stat().st_mtime - LONGEST - 1
    os.utime(copy.folder, (then, then))
    path = numbered_movie(tmp_path / "b.mkv", "ffv1", count=8, size=(48, 16), options=FFV1)
    make(working_copy_of(reference(path), path))
    assert not copy.folder.exists()


def test_copies_in_use_are_not_taken_away(tmp_path, copy, reference, numbered_movie):
    make(copy)
    path = numbered_movie(tmp_path / "b.mkv", "ffv1", count=8, size=(48, 16), options=FFV1)
    other = working_copy_of(reference(path), path)
    with pytest.raises(BadInput, match=r"stops at 0 of 8 frames: there is no more room in the .* GB"):
        make(other, room=Room(most=COUNT * copy.bytes_a_frame + 5000, spare=0))
    assert had(copy) == list(range(COUNT))


def test_it_leaves_the_disk_the_room_that_others_need(copy):
    with pytest.raises(BadInput, match=r"has .* GB left, of which .* are to stay free; make room"):
        make(copy, room=Room(spare=1 << 60))
    assert had(copy) == []
