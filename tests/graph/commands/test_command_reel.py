"""What a reel holds is told, and media that moved are found, or named once. All invented."""

import json
import shutil
from types import SimpleNamespace

import numpy as np
import OpenImageIO as oiio
import pytest
import soundfile

from lamphouse.graph.media.working_copy import room
from lamphouse.graph.media.working_copy.copy import working_copy_of
from lamphouse.graph.reel.store import load
from lamphouse.graph.reel_files.opened import open_reel


def make_stills(folder, count, width=32):
    folder.mkdir(parents=True)
    for n in range(count):
        output = oiio.ImageOutput.create(str(folder / f"f_{n:04}.tif"))
        output.open(str(folder / f"f_{n:04}.tif"), oiio.ImageSpec(width, 24, 3, "uint16"))
        output.write_image(np.full((24, width, 3), 20000, np.uint16))
        output.close()
    return folder


@pytest.fixture
def reel_file(typed, tmp_path):
    """A reel whose scan and sound lie in `job/media`, and which itself lies in `job/reels`."""
    make_stills(tmp_path / "job" / "media" / "film", 3)
    soundfile.write(tmp_path / "job" / "media" / "voice.wav", np.zeros((4800, 2)), 48000)
    (tmp_path / "job" / "reels").mkdir()
    words = ("--scan", "job/media/film", "--sound", "job/media/voice.wav", "--rate", "18", "--gauge", "16mm")
    assert typed("new", "job/reels/a.reel", *words)[0] == 0
    return tmp_path / "job" / "reels" / "a.reel"


def test_the_facts_of_a_reel_are_told_to_people_and_to_programs(typed, reel_file, tmp_path):
    status, answer, _ = typed("reel", reel_file)
    assert status == 0
    assert f"{tmp_path}/job/media/film, 3 frames of 32x24, video on bt709" in answer
    assert "voice.wav, which begins with frame 0" in answer
    assert "18 fps" in answer
    facts = json.loads(typed("reel", reel_file, "--json")[1])
    assert facts["scan"] == {
        "path": f"{tmp_path}/job/media/film",
        "is_there": True,
        "frames": 3,
        "width": 32,
        "height": 24,
        "pixel_aspect": "1",
        "encoding": "video",
        "primaries": "bt709",
    }
    assert (facts["gauge"], facts["rate"], facts["cues"], facts["marks"]) == ("16mm", "18", 1, 0)


def test_how_a_scan_is_taken_can_be_put_right_later(typed, reel_file):
    def scan(*words):
        status, answer, said = typed("reel", reel_file, *words, "--json")
        assert status == 0, said
        return {key: json.loads(answer)["scan"][key] for key in ("encoding", "primaries")}

    assert scan("--primaries", "bt601-625") == {"encoding": "video", "primaries": "bt601-625"}
    assert scan("--encoding", "srgb") == {"encoding": "srgb", "primaries": "bt601-625"}
    assert scan("--encoding", "density") == {"encoding": "density", "primaries": "bt709"}
    assert typed("reel", reel_file, "--primaries", "bt2020")[0] == 2  # densities have none
    assert scan("--encoding", "video") == {"encoding": "video", "primaries": "bt709"}


def test_a_gauge_that_was_given_wrongly_is_put_right_and_none_is_refused(typed, reel_file):
    assert typed("reel", reel_file, "--gauge", "super8")[0] == 0
    assert load(reel_file).gauge == "super8"
    status, _, sentence = typed("reel", reel_file, "--gauge", "supper8")
    assert (status, "super8" in sentence) == (2, True)


def test_a_still_that_cannot_say_what_it_holds_is_told_of(typed, reel_file, tmp_path):
    words = ("--encoding", "density")
    status, _, said = typed("frame", reel_file, "1", "-o", tmp_path / "still.tif", *words)
    assert status == 0
    assert (
        f"TIFF has no words for its colour: tell whoever gets {tmp_path}/still.tif that it is density."
        in said
    )
    assert typed("frame", reel_file, "1", "-o", tmp_path / "a.png", *words)[0] == 2


@pytest.mark.parametrize("place", [".", "media", "elsewhere/media"])
def test_media_that_moved_with_the_reel_are_found_beside_it_or_by_the_end_of_their_path(
    typed, reel_file, tmp_path, place
):
    away = tmp_path / "away"
    (away / place).mkdir(parents=True)
    if place == "elsewhere/media":  # the reel is in the folder that now holds `media`
        away = away / "elsewhere"
    shutil.move(reel_file, away / "a.reel")
    for name in ("film", "voice.wav"):
        shutil.move(tmp_path / "job" / "media" / name, tmp_path / "away" / place / name)
    status, _, said = typed("frame", away / "a.reel", "1", "-o", tmp_path / "still.png")
    assert (status, said) == (0, "")
    facts = json.loads(typed("reel", away / "a.reel", "--json")[1])
    assert (facts["scan"]["is_there"], facts["sound"]["is_there"]) == (True, True)


def test_a_scan_that_is_elsewhere_is_named_once_and_cues_stay(typed, reel_file, tmp_path):
    typed("cue", reel_file, "2", "--name", "door")
    moved = tmp_path / "other disk" / "renamed"
    moved.parent.mkdir()
    shutil.move(tmp_path / "job" / "media" / "film", moved)
    assert "not there" in typed("reel", reel_file)[1]
    status, _, said = typed("frame", reel_file, "1", "-o", tmp_path / "still.png")
    assert (status, said.count("\n")) == (2, 1)
    before = load(reel_file)
    status, answer, _ = typed("reel", reel_file, "--scan", "other disk/renamed")
    assert (status, "not there" in answer) == (0, False)
    assert load(reel_file).cues == before.cues
    assert typed("frame", reel_file, "1", "-o", tmp_path / "still.png")[0] == 0


@pytest.mark.parametrize(("count", "width"), [(4, 32), (3, 48)])
def test_another_scan_is_refused_with_what_differs(typed, reel_file, tmp_path, count, width):
    make_stills(tmp_path / "wrong", count, width)
    before = reel_file.read_bytes()
    status, _, said = typed("reel", reel_file, "--scan", "wrong")
    assert (status, said.count("\n")) == (2, 1)
    assert f"{count} frames of {width}x24" in said
    assert "was made with 3 of 32x24" in said
    assert reel_file.read_bytes() == before


def test_a_sound_that_moved_keeps_its_place_and_what_is_no_sound_is_refused(typed, reel_file, tmp_path):
    document = json.loads(reel_file.read_text())
    document["sound"]["starts_at"] = 2
    reel_file.write_text(json.dumps(document))
    soundfile.write(tmp_path / "other.wav", np.zeros((4800, 2)), 48000)
    assert typed("reel", reel_file, "--sound", "other.wav")[0] == 0
    sound = load(reel_file).sound
    assert (sound.path.endswith("other.wav"), sound.starts_at) == (True, 2)
    before = reel_file.read_bytes()
    (tmp_path / "no.wav").write_bytes(b"no sound")
    for name in ("no.wav", "absent.wav"):
        status, _, said = typed("reel", reel_file, "--sound", name)
        assert (status, said.count("\n")) == (2, 1)
    assert reel_file.read_bytes() == before


def test_a_new_reel_can_have_its_working_copy_at_once(typed, reel_file, tmp_path, monkeypatch):
    monkeypatch.setenv("LAMPHOUSE_CACHE", str(tmp_path / "cache"))
    monkeypatch.setattr(room.shutil, "disk_usage", lambda folder: SimpleNamespace(free=1 << 40))
    made = open_reel(reel_file)
    copy = working_copy_of(made.reel.scan, made.scan_path)
    assert not copy.has(0)
    status, answer, said = typed(
        "new", "again.reel", "--scan", made.scan_path, "--rate", "18", "--working-copy"
    )
    assert status == 0
    assert f"in {copy.folder}." in answer
    assert f"Working copy: {copy.frames} of {copy.frames} frames" in said
    assert all(copy.has(frame) for frame in range(copy.frames))
