"""`verify`: what a person, and a program, are told of a master that is whole and of one that is not."""

import json
import shutil
import subprocess

import numpy as np
import OpenImageIO as oiio
import pytest
from typer.testing import CliRunner

from lamphouse.graph.commands.cli import _app
from lamphouse.graph.media.master.record import load_record, record_path
from lamphouse.graph.reel.records import Cue, Delivery, Sound
from lamphouse.nodes.errors import BadInput, CheckFailed

SOUND = Sound(codec="pcm_s16le", rate=8000)
H264 = Delivery(
    container="matroska",
    codec="libx264",
    pixel_format="yuv420p",
    sound=SOUND,
    bars=3,
    black_before=2,
    black_after=4,
)


def said(*typed):
    """What the command answers, and the error that it ends with."""
    result = CliRunner().invoke(_app(), ["verify", *map(str, typed)])
    return result.stdout, result.exception


@pytest.fixture(scope="module")
def stills(made, request):
    return made.transfer("stills", request.getfixturevalue("deliveries")["tiff"])


@pytest.fixture(scope="module")
def viewing(made):
    return made.transfer("viewing.mkv", H264)


def copy_of(master, folder):
    target = folder / master.name
    (shutil.copytree if master.is_dir() else shutil.copy)(master, target)
    shutil.copy(record_path(master), record_path(target))
    return target


def test_a_whole_master_is_proved_by_its_record_and_by_its_reel(whole, made):
    text, error = said(whole, made.reel_file)
    assert error is None
    assert text.splitlines() == [
        "Every byte of whole.mkv is as it was recorded (SHA-256).",
        "All 33 pictures decode to what was recorded, in order and on time.",
        "All 10560 samples of the sound are as they were recorded.",
        "Each of its 33 frames is what the reel makes now.",
    ]


def test_ffmpeg_gives_the_pictures_of_a_pass_the_checksums_of_its_record(whole):
    command = ["ffmpeg", "-v", "error", "-i", whole, "-map", "0:v", "-f", "framemd5", "-"]
    lines = subprocess.run(command, capture_output=True, text=True, check=True).stdout.splitlines()
    sums = [line.rpartition(",")[2].strip() for line in lines if not line.startswith("#")]
    assert tuple(sums) == load_record(whole).pictures


def test_faults_end_with_status_1_and_are_told_to_programs_too(whole, copy, remux):
    remux(whole, copy, lambda pictures, sound: (pictures[:15] + pictures[16:], sound))
    text, error = said(copy, "--json")
    assert isinstance(error, CheckFailed)
    assert "faults were found in" in str(error)
    document = json.loads(text)
    assert not document["is_good"]
    gone = next(fault for fault in document["faults"] if fault["kind"] == "missing")
    assert (gone["frame"], gone["stop"], gone["timecode"], gone["cue"]) == (15, 16, "10:00:00:10", "Gate")


def test_quick_looks_at_bytes_and_decodes_nothing(copy):
    assert said(copy, "--quick")[0] == "Every byte of whole.mkv is as it was recorded (SHA-256).\n"
    data = bytearray(copy.read_bytes())
    data[len(data) // 2] ^= 1
    copy.write_bytes(data)
    text, error = said(copy, "--quick")
    lines = text.splitlines()
    assert lines[0] == "whole.mkv is not, byte for byte, the file of the record (SHA-256)."
    assert "checksum does not agree with pictures and sound from frame 15 " in lines[1]
    assert str(error).startswith("2 faults were found")


def test_a_master_without_a_record_and_one_that_is_gone_are_refused(copy):
    record_path(copy).unlink()
    assert isinstance(said(copy)[1], BadInput)
    assert "no record" in str(said(copy)[1])
    copy.unlink()
    assert "There is no master" in str(said(copy)[1])


def test_two_masters_are_compared_without_a_record(whole, copy, remux, tmp_path):
    record_path(copy).unlink()
    text, error = said(copy, "--compare-with", whole)
    assert error is None
    assert "decode to the same 33 pictures" in text
    remux(whole, copy, lambda pictures, sound: ([*pictures[:9], *pictures[10:]], sound[1:]))
    text, error = said(copy, "--compare-with", whole)
    assert "Frame 9 is missing." in text
    assert "The sound has" in text
    assert isinstance(error, CheckFailed)


def test_a_lossy_master_is_exact_against_its_record_and_like_its_reel(viewing, made, tmp_path):
    text, error = said(viewing, made.reel_file)
    assert error is None
    assert "All 33 pictures decode to what was recorded" in text
    assert "what the reel makes now" in text


def test_stills_that_are_whole_are_proved(stills, made):
    text, error = said(stills, made.reel_file)
    assert error is None
    assert len(text.splitlines()) == 4


def test_faults_of_stills_are_named_by_frame(stills, tmp_path):
    master = copy_of(stills, tmp_path)
    name = "stills.{:06}.tif".format
    (master / name(15)).unlink()
    shutil.copy(stills / name(19), master / name(18))
    broken = master / name(21)
    broken.write_bytes(broken.read_bytes()[:200])
    (master / "Thumbs.db").write_bytes(b"")
    wave = master / "stills.wav"
    wave.write_bytes(wave.read_bytes()[:-400])
    _touch_a_header(master / name(24))
    lines = said(master)[0].splitlines()
    for line in (
        "Frame 15 (10:00:00:10, cue Gate) is missing: there is no stills.000015.tif.",
        "Frame 18 (10:00:00:13, cue Gate) shows the picture of frame 19 (10:00:00:14, cue Gate).",
        "Thumbs.db is not in the record.",
        "stills.000024.tif is not, byte for byte, the file of the record (SHA-256).",
    ):
        assert line in lines
    assert any(line.startswith("Frame 21 (10:00:00:16, cue Sea) cannot be read (") for line in lines)
    assert any(line.startswith("The sound has") for line in lines)


def _touch_a_header(path):
    file = oiio.ImageInput.open(str(path))
    spec, codes = file.spec(), file.read_image(oiio.UINT16)
    file.close()
    spec.attribute("ImageDescription", "Another")
    out = oiio.ImageOutput.create(str(path))
    assert out.open(str(path), spec)
    assert out.write_image(np.ascontiguousarray(codes))
    out.close()


def test_a_file_that_is_no_master_is_a_sentence_and_not_a_traceback(whole, copy, tmp_path):
    garbage = tmp_path / "garbage.mkv"
    garbage.write_bytes(b"no movie at all" * 100)
    text, error = said(whole, "--compare-with", garbage)
    assert isinstance(error, CheckFailed)
    assert f"{garbage} cannot be read from frame 0 " in text
    shutil.copy(garbage, copy)
    text, error = said(copy, "--joins", tmp_path / "joins")
    assert isinstance(error, CheckFailed)
    assert "and those up to frame 32 (10:00:01:02, black) are missing." in text


def test_a_lossy_master_that_nobody_read_back_says_what_could_not_be_compared(made):
    viewing = made.transfer("unread.mkv", H264, reads_back=False)
    text, error = said(viewing)
    assert error is None
    assert "There are 33 pictures, as recorded, and each can be decoded; the record has no checksums" in text


@pytest.mark.slow
def test_another_picture_in_a_lossy_master_is_found_by_the_reel_too(made, tmp_path):
    """A record that agrees with a master that was made by other settings."""
    cues = [*made.opened.reel.cues[:1], Cue(frame=8, name="Gate", settings={"primary.gain": 0.4})]
    other = made.transfer("other.mkv", H264, *cues)
    text, error = said(other, made.reel_file)
    assert isinstance(error, CheckFailed)
    assert "Frame 13 (10:00:00:08, cue Gate) is " in text
    assert "codes of 8 bits off what the reel makes, for the settings there have changed since." in text


@pytest.mark.parametrize("more", [["REEL"], ["--quick"], ["--joins", "a"]])
def test_a_comparison_takes_nothing_else(whole, made, more):
    words = [made.reel_file if word == "REEL" else word for word in more]
    assert "give it alone" in str(said(whole, *words, "--compare-with", whole)[1])
