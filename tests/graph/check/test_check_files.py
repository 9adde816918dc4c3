"""A master whose file is not what its record and its delivery say: each difference is named.

Timecodes: SMPTE ST 12-1. Tags: ITU-T H.273, by ffmpeg. The masters are small ones of an invented film.
"""

import shutil
import subprocess

import msgspec
import OpenImageIO as oiio
import pytest

from lamphouse.graph.check.check import check, check_files
from lamphouse.graph.check.parts import PARTS
from lamphouse.graph.check.settings import defaults
from lamphouse.graph.check.subject import subject_of
from lamphouse.graph.media.master.record import load_record, record_path, save_record
from lamphouse.graph.reel.records import Delivery

FILES = ("conformity", "tags", "timecode")
DPX = Delivery(container="dpx", codec="dpx", pixel_format="gbrp10le", matrix="rgb", range="full")


def found_in(master, parts=FILES):
    return check_files(subject_of(master, defaults()), parts)


def sentences(master, parts=FILES):
    found = found_in(master, parts)
    return [one.sentence for one in (*found.faults, *found.others)]


def record_with(master, **changed):
    """Have the record ask for another delivery."""
    record = load_record(master)
    delivery = msgspec.structs.replace(record.delivery, **changed)
    save_record(master, msgspec.structs.replace(record, delivery=delivery))


def test_a_master_as_it_was_made_is_what_its_delivery_asks_for(whole):
    assert sentences(whole) == []


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({"codec": "libx264", "pixel_format": "yuv420p"}, "The coding is ffv1, where the delivery has h264."),
        ({"container": "mxf"}, "The container is matroska,webm, where the delivery has mxf."),
        (
            {"pixel_format": "yuv444p10le"},
            "The pixel format is yuv422p10le, where the delivery has yuv444p10le.",
        ),
        ({"width": 72, "height": 48}, "The raster is 64x48, where the delivery has 72x48."),
        ({"rate": "24"}, "The rate is 25, where the delivery has 24."),
        ({"range": "full"}, "The range tag is 1, where the delivery has 2."),
        ({"primaries": "bt2020"}, "The primaries tag is"),
        ({"sound": None}, "The number of sound tracks is 1, where the delivery has 0."),
    ],
)
def test_what_is_other_than_the_delivery_asks_is_named(copy, asked, words):
    record_with(copy, **asked)
    assert any(text.startswith(words) for text in sentences(copy)), sentences(copy)


@pytest.mark.parametrize(
    ("tags", "words"),
    [
        (["-timecode", "10:00:00:00"], "Timecode begins at 10:00:00:00; the record has"),
        (["-timecode", "10:00:00:77"], "The file's timecode is none at 25 frames a second"),
        (["-metadata:s:v", "timecode="], "The file states no timecode."),
    ],
)
def test_another_timecode_is_a_fault(whole, copy, tags, words):
    told = ["-metadata:s:v", f"timecode={tags[1]}"] if tags[0] == "-timecode" else tags
    command = ["ffmpeg", "-v", "error", "-y", "-i", whole, "-map", "0", "-c", "copy", *told, copy]
    subprocess.run(command, check=True)
    (finding,) = found_in(copy, ["timecode"]).faults
    assert finding.sentence.startswith(words)
    assert finding.rule == "SMPTE ST 12-1"


def test_a_still_that_breaks_the_count_of_timecode_is_named(made, tmp_path):
    master = made.transfer("count", DPX)
    moved = tmp_path / "count"
    shutil.move(master, moved)
    shutil.move(record_path(master), record_path(moved))
    assert sentences(moved, ["timecode", "conformity"]) == []
    third = sorted(moved.iterdir())[2]
    picture = oiio.ImageBuf(str(third))
    word = picture.spec().getattribute("smpte:TimeCode")
    picture.specmod().attribute("smpte:TimeCode", oiio.TypeDesc("timecode"), (word[0] + 1, 0))
    picture.specmod().attribute("oiio:BitsPerSample", 10)
    picture.write(str(third))
    (finding,) = found_in(moved, ["timecode"]).faults
    assert (finding.frame, finding.stop) == (2, 3)
    assert "breaks the count" in finding.sentence


def test_a_master_that_lost_a_frame_is_short_of_it(whole, copy, remux):
    remux(whole, copy, lambda pictures, sound: (pictures[:15] + pictures[16:], sound))
    found = check(subject_of(copy, defaults()), PARTS, lambda *done: None, lambda: False)
    kinds = {one.kind for one in found.faults}
    assert {"number", "time"} <= kinds
    assert "The master holds 32 pictures, where its record has 33." in [one.sentence for one in found.faults]


def test_a_torn_file_is_told_of_once_for_all_that_looks_at_it(copy):
    copy.write_bytes(copy.read_bytes()[:300])
    found = check(subject_of(copy, defaults()), PARTS, lambda *done: None, lambda: False)
    assert found.count
    assert all(one.sentence.endswith(".") for one in found.faults)
