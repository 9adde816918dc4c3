"""The command line from end to end: places in three readings, one frame as a file, a cue as a LUT."""

import json
import re
import shutil

import msgspec
import numpy as np
import pytest

from lamphouse.graph.reel.store import load, save

FRAMES = 72
HEAD_MARK = 12
# 16 mm has 40 frames to the foot (de.zxc.wiki "Filmfuss"), the reel runs at 24: all three say frame 57.
PLACES = ("01:00:01:21", "1+05", "57")


@pytest.fixture(scope="module")
def reel_file(lamphouse, tmp_path_factory, film, write_stills):
    folder = tmp_path_factory.mktemp("commands")
    write_stills(folder / "film", film)
    path = folder / "film.reel"
    lamphouse("new", path, "--scan", folder / "film", "--rate", "24", "--gauge", "16mm")
    save(path, msgspec.structs.replace(load(path), head_mark=HEAD_MARK, start="01:00:00:00"))
    return path


@pytest.fixture(scope="module")
def graded(lamphouse, reel_file):
    """The reel with a cue that bends tones and colours, called meadow."""
    path = reel_file.with_name("graded.reel")
    shutil.copy(reel_file, path)
    settings = (
        "primary.gamma=1.4",
        "primary.lift=-0.04",
        "primary.gain_balance=1.1,1,0.85",
        "saturation.amount=1.5",
        "curves.master=0,0 0.3,0.22 0.7,0.8 1,1",
    )
    lamphouse("cue", path, "50", "--name", "meadow", *(word for s in settings for word in ("--set", s)))
    return path


@pytest.mark.parametrize("place", PLACES)
def test_a_cue_lands_on_the_same_frame_by_every_reading(lamphouse, reel_file, tmp_path, place):
    path = reel_file.with_name(f"cue{PLACES.index(place)}.reel")
    shutil.copy(reel_file, path)
    said = lamphouse("cue", path, place, "--name", "here", "--length", "14", "--set", "primary.gain=1.25")
    assert said.split()[0] == "2"
    start, here = json.loads(lamphouse("cues", path, "--json"))
    assert (start["number"], here["number"]) == (1, 2)
    assert (start["frame"], start["timecode"], start["footage"]) == (0, "00:59:59:12", "-0+12")
    assert (here["timecode"], here["footage"], str(here["frame"])) == PLACES
    assert (here["name"], here["begins"], here["length"]) == ("here", "transition", 14)
    assert here["settings"] == {"primary.gain": 1.25}


@pytest.mark.parametrize("place", PLACES)
def test_a_frame_as_scanned_is_the_scan_as_a_display_shows_it(
    lamphouse, graded, tmp_path, stored_codes, as_srgb, place
):
    lamphouse("frame", graded, place, "--before", "-o", tmp_path / "before.tif")
    scan = stored_codes(graded.parent / "film" / "film.00057.tif")
    shown = as_srgb(scan / 65535) * 65535
    assert np.abs(stored_codes(tmp_path / "before.tif") - shown).max() < 0.6  # half a code, and float32
    lamphouse("frame", graded, place, "-o", tmp_path / "after.tif")
    assert np.abs(stored_codes(tmp_path / "after.tif") - shown).max() > 1000


def test_a_transfer_begins_and_ends_by_any_reading(
    lamphouse, graded, decode_planes, stored_codes, as_srgb, tmp_path
):
    master = tmp_path / "part.mkv"
    said = lamphouse(
        "transfer", graded, "-o", master, "--delivery", "rgb-ffv1", "--from", PLACES[0], "--to", "1+09"
    )
    assert "4 frames" in said
    found = list(decode_planes(master))
    assert len(found) == 4
    for number, planes in enumerate(found, 57):
        still = tmp_path / f"{number}.tif"
        lamphouse("frame", graded, number, "-o", still)
        # The two files round once each, the first before a curve whose slope is 1.055 at most.
        shown = as_srgb(np.stack(planes) / 65535) * 65535
        assert np.abs(stored_codes(still) - shown).max() < 1.1


@pytest.mark.slow
@pytest.mark.parametrize("points", [17, 33, 65])
def test_ffmpeg_reads_the_lut_to_the_frame_within_the_error_that_is_said(
    lamphouse, graded, tmp_path, stored_codes, lut3d, as_srgb, points
):
    cube, still = tmp_path / "meadow.cube", tmp_path / "after.tif"
    said = lamphouse("lut", graded, "--cue", "meadow", "-o", cube, "--points", points)
    largest = float(re.search(r"largest error ([0-9.]+)", said)[1])
    assert 0 < largest < 0.1
    for frame in (50, 60, 71):
        lamphouse("frame", graded, frame, "-o", still)
        scan = stored_codes(graded.parent / "film" / f"film.{frame:05}.tif")
        difference = np.abs(as_srgb(lut3d(scan, cube) / 65535) - stored_codes(still) / 65535)
        # Half a 16-bit code for the rounding of each of the two files, and that of the printed figure; an
        # error before the still's curve is 1.055 times as large behind it at most.
        assert difference.max() <= 1.055 * (largest + 1 / 65535 + 5e-7)
        assert difference.max() > 0
