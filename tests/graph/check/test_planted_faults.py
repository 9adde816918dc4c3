"""Faults planted into a master by a general library (PyAV, ffmpeg): each is found, and its place is named.

Frames of the master: 0 to 2 bars, 3 and 4 black, 5 to 28 film (Garden, Gate from 13, Sea from 21), 29 to 32
black.
"""

import shutil
import subprocess
from fractions import Fraction

import av
import msgspec
import numpy as np
import pytest

from lamphouse.graph.check.again import check_against, make_again
from lamphouse.graph.check.verify import check_files, check_pictures
from lamphouse.graph.media.master.record import load_record, record_path
from lamphouse.graph.reel.records import Cue

TICKS = 40  # milliseconds of a frame at 25 a second
GATE = "10:00:00:10, cue Gate"


def nothing(*done):
    return None


def verified(master):
    record = load_record(master)
    found = check_files(master, record)
    pictures, decoded = check_pictures(master, record, nothing, lambda: False)
    found.join(pictures)
    return found, decoded


def sentences(master):
    return [fault.sentence for fault in verified(master)[0].faults]


def drop(pictures, sound):
    return pictures[:15] + pictures[16:], sound


def drop_and_close(pictures, sound):
    rest = [(data, time - TICKS, length) for data, time, length in pictures[16:]]
    return pictures[:15] + rest, sound


def repeat(pictures, sound):
    return [*pictures[:15], (pictures[14][0], *pictures[15][1:]), *pictures[16:]], sound


def repeat_and_push(pictures, sound):
    rest = [(data, time + TICKS, length) for data, time, length in pictures[15:]]
    return [*pictures[:15], (pictures[14][0], *pictures[15][1:]), *rest], sound


def swap(pictures, sound):
    one, other = pictures[15], pictures[19]
    changed = {15: (other[0], *one[1:]), 19: (one[0], *other[1:])}
    return [changed.get(n, picture) for n, picture in enumerate(pictures)], sound


def flip(pictures, sound):
    data = bytearray(pictures[15][0])
    data[len(data) // 2] ^= 0x10
    return [*pictures[:15], (bytes(data), *pictures[15][1:]), *pictures[16:]], sound


def cut_sound(pictures, sound):
    return pictures, sound[: len(sound) * 2 // 3]


def shift_sound(pictures, sound):
    data = b"".join(data for data, *_ in sound)
    moved, at, parts = data[:2] + data[:-2], 0, []
    for data, *times in sound:
        parts.append((moved[at : at + len(data)], *times))
        at += len(data)
    return pictures, parts


def late_sound(pictures, sound):
    return pictures, [(data, time + 80, length) for data, time, length in sound]


def no_black(pictures, sound):
    return pictures[:-2], sound


def late_picture(pictures, sound):
    late = [(data, time + 15, length) for data, time, length in pictures[15:16]]
    return [*pictures[:15], *late, *pictures[16:]], sound


PLANTED = {
    "dropped": (drop, f"Frame 15 ({GATE}) is missing."),
    "dropped, no gap left": (drop_and_close, f"Frame 15 ({GATE}) is missing."),
    "repeated over the next": (repeat, f"Frame 15 ({GATE}) repeats frame 14 (10:00:00:09, cue Gate)."),
    "repeated between": (
        repeat_and_push,
        f"A picture too many stands before frame 15 ({GATE}): frame 14 (10:00:00:09, cue Gate), repeated.",
    ),
    "swapped": (swap, f"Frame 15 ({GATE}) is swapped with frame 19 (10:00:00:14, cue Gate)."),
    "a bit flipped": (
        flip,
        f"Frame 15 ({GATE}) is damaged: its bytes do not agree with the checksums of its slices.",
    ),
    "sound cut": (cut_sound, "The sound has 7040 samples, not 10560: it ends at frame 22 "),
    "sound moved": (shift_sound, "The sound lies 1 sample too late from second 0 on, at frame 0 "),
    "sound placed late": (late_sound, "The sound is placed 0.080 s late, from frame 0 "),
    "black missing": (no_black, "Frame 31 (10:00:01:01, black) and those up to frame 32 "),
    "shown late": (late_picture, f"Frame 15 ({GATE}) is shown 0.015 s late."),
}


@pytest.mark.slow
@pytest.mark.parametrize("fault", PLANTED)
def test_a_fault_among_packets_is_found_by_the_record_alone(whole, copy, remux, fault):
    change, said = PLANTED[fault]
    remux(whole, copy, change)
    found = sentences(copy)
    assert any(sentence.startswith(said) for sentence in found), found


def test_a_copy_of_all_packets_has_the_pictures_and_the_sound_of_the_record(whole, copy, remux):
    remux(whole, copy, lambda pictures, sound: (pictures, sound))
    found, _ = verified(copy)
    assert {fault.kind for fault in found.faults} == {"file differs", "fact"}  # it is another file
    assert len(found.said) == 2


def test_a_frame_dropped_without_a_gap_brings_all_that_follow_too_early(whole, copy, remux):
    remux(whole, copy, drop_and_close)
    late = next(fault for fault in verified(copy)[0].faults if fault.kind == "time")
    assert (late.frame, late.stop) == (16, 33)
    assert late.sentence.endswith("are shown 0.040 s early.")


def reencoded(whole, number):
    """The packet of a frame of which one code of Cr has been changed by one."""
    with av.open(str(whole)) as container:
        frame = next(f for n, f in enumerate(container.decode(video=0)) if n == number)
        plane = np.frombuffer(memoryview(frame.planes[2]), np.uint16)
        plane[100] += 1
        coder = av.CodecContext.create("ffv1", "w")
        coder.width, coder.height, coder.pix_fmt = frame.width, frame.height, frame.format.name
        coder.time_base, coder.thread_type = Fraction(1, 25), "SLICE"
        coder.options = {"level": "3", "g": "1", "slicecrc": "1", "slices": "4"}
        frame.pts, frame.time_base = 0, Fraction(1, 25)
        return bytes(coder.encode(frame)[0])


def replaced(number, data):
    def change(pictures, sound):
        return [*pictures[:number], (data, *pictures[number][1:]), *pictures[number + 1 :]], sound

    return change


def test_one_code_of_one_plane_is_found(whole, copy, remux):
    remux(whole, copy, replaced(22, reencoded(whole, 22)))
    assert "Frame 22 (10:00:00:17, cue Sea) differs from the record's." in sentences(copy)


def packet_of(path, number):
    with av.open(str(path)) as container:
        return [bytes(packet) for packet in container.demux(video=0) if packet.size][number]


@pytest.fixture(scope="module")
def graded_late(made):
    """The same master but that its second cue begins a frame late: frame 13 has its neighbour's settings."""
    cues = [
        made.opened.reel.cues[0],
        Cue(frame=9, name="Gate", settings={"primary.gain": 0.8}),
        made.opened.reel.cues[2],
    ]
    return made.transfer("late.mkv", load_record(made.folder / "whole.mkv").delivery, *cues)


def test_a_frame_with_its_neighbour_s_settings_is_found(whole, made, graded_late, copy, remux):
    remux(whole, copy, replaced(13, packet_of(graded_late, 13)))
    assert "Frame 13 (10:00:00:08, cue Gate) differs from the record's." in sentences(copy)


def test_the_reel_finds_it_too_where_the_record_would_not(whole, made, graded_late, copy):
    """A master that a faulty pass made: its record agrees with it, the reel does not."""
    shutil.copy(graded_late, copy)
    shutil.copy(record_path(graded_late), record_path(copy))
    record = load_record(copy)
    _, decoded = check_pictures(copy, record, nothing, lambda: False)
    again = make_again(made.opened, record, nothing, lambda: False)
    found = check_against(again, copy, record, decoded)
    assert [(fault.kind, fault.frame, fault.stop) for fault in found.faults] == [("stale", 13, 14)]
    assert "differs from what the reel makes now, for the settings there have changed since" in str(
        found.faults
    )
    assert "the reel" in found.said[0]


def ffmpeg(*given):
    subprocess.run(["ffmpeg", "-v", "error", "-y", *map(str, given)], check=True)


def test_another_timecode_is_found(whole, copy):
    ffmpeg("-i", whole, "-map", 0, "-c", "copy", "-metadata:s:v", "timecode=10:00:01:00", copy)
    assert "The timecode is 10:00:01:00; the record has 09:59:59:20." in sentences(copy)


def test_another_tag_is_found(whole, copy):
    ffmpeg("-i", whole, "-map", 0, "-c", "copy", "-metadata", "title=Another", copy)
    assert "The file's tag title is Another; the record has film." in sentences(copy)


@pytest.mark.parametrize("share", [0.2, 0.5, 0.9])
def test_a_file_that_is_cut_off_is_found_with_the_place(copy, share):
    data = copy.read_bytes()
    copy.write_bytes(data[: int(len(data) * share)])
    found, decoded = verified(copy)
    gone = next(fault for fault in found.faults if fault.kind in ("missing", "broken"))
    assert gone.frame in (len(decoded.pictures) - 1, len(decoded.pictures))
    assert found.faults[0].kind == "file differs"


def test_a_fact_without_a_name_in_a_damaged_record_is_told_as_any_other(whole):
    record = load_record(whole)
    damaged = msgspec.structs.replace(record, facts={**record.facts, "": "x"})
    assert [f.sentence for f in check_files(whole, damaged).faults] == [
        "A fact without a name is not stated; the record has x."
    ]


def test_faults_are_all_told_and_of_a_hundred_and_more_the_number(whole, copy, remux):
    remux(whole, copy, lambda pictures, sound: (pictures[5:10] + pictures[11:20] + pictures[21:], sound))
    missing = [fault.frame for fault in verified(copy)[0].faults if fault.kind == "missing"]
    assert missing == [0, 10, 20]


@pytest.mark.parametrize("byte", [0x10, 0x01])
def test_a_bit_of_sound_that_turned_on_the_disk_is_found_by_the_container_s_own_checksums(whole, copy, byte):
    with av.open(str(whole)) as container:
        packets = [bytes(packet) for packet in container.demux(audio=0) if packet.size]
    data = bytearray(copy.read_bytes())
    data[data.index(packets[20]) + 9] ^= byte
    copy.write_bytes(data)
    found = {fault.kind: fault for fault in verified(copy)[0].faults}
    assert set(found) == {"file differs", "container", "sound differs"}
    assert found["container"].sentence.startswith(
        "The container's checksum does not agree with pictures and sound from frame "
    )
    assert found["container"].frame is not None
    assert 15 <= found["container"].frame <= 20


@pytest.mark.parametrize(("part", "what"), [(b"timecode", "its tags"), (b"FFV1", "its tracks")])
def test_a_header_that_was_written_over_is_found_by_them_too(copy, part, what):
    data = bytearray(copy.read_bytes())
    data[data.upper().index(part.upper()) + 1] ^= 0x20
    copy.write_bytes(data)
    assert f"The container's checksum does not agree with {what}." in sentences(copy)
