"""Nothing that a reel names is written over, by whatever name a person calls it. All invented."""

import os
import sys

import av
import msgspec
import numpy as np
import pytest

from lamphouse.graph.commands.cli import main
from lamphouse.graph.handover.report import write_report
from lamphouse.graph.media.master.delivery import delivery
from lamphouse.graph.media.master.record import load_record
from lamphouse.graph.reel.records import SoundRef
from lamphouse.graph.reel.store import change, load
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.graph.transfer.plan import plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.nodes.errors import BadInput

LOOK = "LUT_3D_SIZE 2\n" + "".join(f"{r} {g} {b}\n" for b in (0, 1) for g in (0, 1) for r in (0, 1))


@pytest.fixture
def folder(reel_with, tmp_path, monkeypatch):
    """A folder with a reel, its one-still scan, its sound, its LUT, and other names for them."""
    (tmp_path / "look.cube").write_text(LOOK)
    (tmp_path / "voice.wav").write_bytes(b"any sound")
    reel_with("lut", file="look.cube")
    sound = SoundRef(path="voice.wav")
    change(tmp_path / "film.reel", lambda reel: msgspec.structs.replace(reel, sound=sound))
    os.link(tmp_path / "film" / "f_0000.tif", tmp_path / "second-name.tif")
    (tmp_path / "link.tif").symlink_to("film/f_0000.tif")
    (tmp_path / "linked").symlink_to("film")
    os.link(tmp_path / "look.cube", tmp_path / "again.cube")
    os.link(tmp_path / "voice.wav", tmp_path / "voice.png")
    os.link(tmp_path / "film.reel", tmp_path / "reel.tif")
    os.link(tmp_path / "film.reel.previous", tmp_path / "before.tif")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def refused(words, monkeypatch, capsys):
    monkeypatch.setattr(sys, "argv", ["lamphouse", *words.split()])
    with pytest.raises(SystemExit) as end:
        main()
    said = capsys.readouterr().err
    assert (end.value.code, said.count("\n")) == (2, 1), said
    return said


def everything(folder):
    return {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("frame film.reel 0 -o film/f_0000.tif", "is a still of the scan"),
        ("frame film.reel 0 -o film/../linked/f_0000.tif", "is a still of the scan"),
        ("frame film.reel 0 -o second-name.tif", "is a still of the scan"),
        ("frame film.reel 0 -o link.tif", "is a still of the scan"),
        ("frame film.reel 0 -o film/f_0001.tif", "would be a still of the scan"),
        ("frame film.reel 0 -o linked/other_0001.png", "would be a still of the scan"),
        ("frame film.reel 0 -o voice.png", "is the sound"),
        ("frame film.reel 0 -o reel.tif", "is the file"),
        ("frame film.reel 0 -o before.tif", "is the version before"),
        ("lut film.reel --cue start -o look.cube", "is a file in the settings"),
        ("lut film.reel --cue start -o again.cube", "is a file in the settings"),
        ("transfer film.reel -o film --delivery tiff-16", "is the scan"),
    ],
)
def test_no_command_writes_over_what_the_reel_names(folder, words, says, monkeypatch, capsys):
    before = everything(folder)
    assert f"{says} of " in refused(words, monkeypatch, capsys).replace("before the present one", "before")
    assert everything(folder) == before


def test_a_working_file_that_is_the_scan_is_refused_as_well(folder, monkeypatch, capsys):
    with av.open("new.mkv.part", "w", format="matroska") as movie:
        stream = movie.add_stream("ffv1", rate=24)
        stream.width, stream.height, stream.pix_fmt = 32, 24, "yuv444p"
        picture = av.VideoFrame.from_ndarray(np.zeros((24, 32, 3), np.uint8), "rgb24")
        for packet in (*stream.encode(picture.reformat(format="yuv444p")), *stream.encode(None)):
            movie.mux(packet)
    scan = msgspec.structs.replace(load(folder / "film.reel").scan, path="new.mkv.part")
    change(folder / "film.reel", lambda reel: msgspec.structs.replace(reel, scan=scan))
    for more in ("", " --resume"):
        said = refused(f"transfer film.reel -o new.mkv{more}", monkeypatch, capsys)
        assert "new.mkv.part is the scan of film.reel" in said


def test_a_report_keeps_off_the_scan_and_another_name_is_no_trouble(folder):
    change(folder / "film.reel", lambda reel: msgspec.structs.replace(reel, sound=None))
    opened, master = open_reel(folder / "film.reel"), folder / "m"
    transfer(plan(opened, delivery("tiff-16", {}), 0, 1), master, lambda *done: None)
    record = load_record(master)
    (folder / "report").mkdir()
    os.link(folder / "film" / "f_0000.tif", folder / "report" / "index.html")
    before = everything(folder)
    with pytest.raises(BadInput, match=r"index\.html is a still of the scan of film\.reel"):
        write_report(folder / "report", master, record)
    with pytest.raises(BadInput, match="is the master; give another folder"):
        write_report(folder / "m", master, record)
    assert everything(folder) == before
    assert write_report(folder / "another", master, record).exists()


def test_where_a_demo_or_part_of_one_lies_none_is_drawn_over_it(tmp_path, monkeypatch, capsys):
    (tmp_path / "demo-scan.mkv").write_bytes(b"the scan of another reel")
    assert "holds a demo already" in refused(f"demo {tmp_path}", monkeypatch, capsys)
    assert (tmp_path / "demo-scan.mkv").read_bytes() == b"the scan of another reel"
