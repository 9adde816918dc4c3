"""What a pass, a cue and a pick have to say of what they meet. Files are made here; wording our own."""

import msgspec
import numpy as np
import OpenImageIO as oiio
import pytest
import soundfile

from lamphouse.graph.handover.report import write_report
from lamphouse.graph.media.master.record import load_record
from lamphouse.graph.reel.store import load

TABLE = "LUT_1D_SIZE 2\n0 0 0\n1 1 1\n"  # changes nothing within 0..1
WIDE = "LUT_1D_SIZE 2\nDOMAIN_MIN -1 -1 -1\nDOMAIN_MAX 4 4 4\n-1 -1 -1\n4 4 4\n"


@pytest.fixture
def reel_file(lamphouse, tmp_path, film, write_stills):
    write_stills(tmp_path / "film", film[:3])
    path = tmp_path / "film.reel"
    lamphouse("new", path, "--scan", tmp_path / "film", "--rate", "24", "--chain", "finishing")
    return path


def test_sound_that_is_clipped_or_no_number_is_counted(lamphouse, reel_file, tmp_path):
    samples = np.zeros((6000, 2), np.float32)
    samples[2500:2510, 1] = [1.5, -1.5] * 5  # frame 1 at 24 frames and 48,000 samples a second
    samples[4100, 0] = np.nan
    soundfile.write(tmp_path / "loud.wav", samples, 48000, subtype="FLOAT")
    lamphouse("reel", reel_file, "--sound", tmp_path / "loud.wav")
    said = lamphouse("transfer", reel_file, "-o", tmp_path / "m.mkv")
    assert "Note: 10 samples of the sound lie beyond full scale and are clipped, the first in frame 1" in said
    assert "Note: 1 samples of the sound are not numbers, the first in frame 2 of the master" in said


def test_a_quiet_pass_has_no_notes(lamphouse, reel_file, tmp_path):
    soundfile.write(tmp_path / "full.wav", np.full((6000, 2), -1.0), 48000, subtype="FLOAT")
    lamphouse("reel", reel_file, "--sound", tmp_path / "full.wav")
    assert "Note" not in lamphouse("transfer", reel_file, "-o", tmp_path / "m.mkv")


def test_values_of_the_scan_that_are_no_numbers_are_said(lamphouse, tmp_path):
    (tmp_path / "film").mkdir()
    for number in range(4):
        pixels = np.full((24, 32, 3), 0.25, np.float32)
        if number > 1:
            pixels[5, 6, number - 2] = [np.nan, np.inf][number - 2]
        out = oiio.ImageOutput.create(str(tmp_path / "film" / f"f_{number}.exr"))
        out.open(str(tmp_path / "film" / f"f_{number}.exr"), oiio.ImageSpec(32, 24, 3, "float"))
        out.write_image(pixels)
        out.close()
    lamphouse("new", tmp_path / "f.reel", "--scan", tmp_path / "film", "--rate", "24", "--encoding", "light")
    said = lamphouse("transfer", tmp_path / "f.reel", "-o", tmp_path / "m.mkv", "--delivery", "scan-ffv1")
    assert "Note: 2 frames of the scan hold values that are not finite numbers, the first frame 2" in said


@pytest.mark.parametrize(
    ("table", "gain", "is_cut"), [(TABLE, 1.5, True), (TABLE, 1.0, False), (WIDE, 1.5, False)]
)
def test_a_lut_that_cuts_off_what_it_is_given_is_said(lamphouse, reel_file, tmp_path, table, gain, is_cut):
    (tmp_path / "look.cube").write_text(table)
    said = lamphouse(
        "cue", reel_file, "0", "--set", f"lut.file={tmp_path}/look.cube", "--set", f"primary.gain={gain}"
    )
    assert ("of frame 0 lies outside 0 to 1, which is all that look.cube holds" in said) == is_cut
    assert ("Note" in said) == is_cut


def test_a_cue_is_set_where_the_scan_is_gone(lamphouse, reel_file, tmp_path):
    (tmp_path / "look.cube").write_text(TABLE)
    (tmp_path / "film").rename(tmp_path / "elsewhere")
    lamphouse("cue", reel_file, "0", "--set", f"lut.file={tmp_path}/look.cube")
    assert load(reel_file).cues[0].settings["lut.file"] == "look.cube"


def test_a_clipped_patch_is_said_with_its_share(lamphouse, tmp_path, write_stills):
    picture = np.full((40, 60, 3), 0.4)
    picture[:, 30:45, 2] = 1.0
    picture[:10, 45:] = 0.0
    write_stills(tmp_path / "film", [picture])
    lamphouse("new", tmp_path / "n.reel", "--scan", tmp_path / "film", "--rate", "24", "--chain", "negative")

    def pick(patch):
        return lamphouse("pick", tmp_path / "n.reel", "0", "base", "--patch", patch)

    assert "Note: 50% of the patch 20,0,20,40 lies at the end of the scan's codes" in pick("20,0,20,40")
    assert "Note: 25% of the patch 50,0,10,40" in pick("50,0,10,40")
    assert "Note" not in pick("0,0,30,40")


def test_the_report_lists_what_is_to_be_known_once(lamphouse, reel_file, tmp_path):
    soundfile.write(tmp_path / "short.wav", np.zeros((624, 2)), 48000)
    lamphouse("reel", reel_file, "--sound", tmp_path / "short.wav")
    notes = ("5 samples of the sound lie beyond full scale.",) * 2
    lamphouse("transfer", reel_file, "-o", tmp_path / "m", "--delivery", "tiff-16")
    record = msgspec.structs.replace(load_record(tmp_path / "m"), notes=notes)
    page = write_report(tmp_path / "report", tmp_path / "m", record).read_text()
    assert page.count("5 samples of the sound lie beyond full scale.") == 1
    assert "The sound lasts 0:00:00.013 and the picture 0:00:00.125; the rest is silent." in page
