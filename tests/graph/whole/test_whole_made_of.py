"""A pass is known by all that it is made of: a changed look, plug-in, scan or sound is another pass.

Looks, plug-in and film are invented.
"""

import json
import os
from pathlib import Path

import numpy as np
import pytest
import soundfile

from lamphouse.graph.files.digest import digest_of_parts
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.master.under_way import UnderWay
from lamphouse.graph.reel.records import Delivery, Sound
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.graph.transfer.made_of import made_of
from lamphouse.graph.transfer.plan import Plan, plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.nodes.catalogue import NODES, Catalogue
from lamphouse.nodes.errors import BadInput, CheckFailed
from lamphouse.nodes.host.find import FOLDERS, find_plugins

FRAMES = 12
DELIVERY = Delivery(
    container="matroska",
    codec="ffv1",
    pixel_format="gbrp16le",
    matrix="rgb",
    range="full",
    sound=Sound(),
)
PLUGIN = """
from lamphouse.nodes.contract import Node, Parameter, Reach, Signal
LAMPHOUSE = {"contract": 1, "nodes": {"tinge": "Invented for these tests."}}
def tinge(picture, p):
    return picture * p.amount
AMOUNT = Parameter("amount", "How much.", 1.0, low=0.1, high=9.0, source="invented")
NODES = (Node("tinge", "Invented.", Signal.LIGHT, Reach.POINT, (AMOUNT,), tinge, source="invented"),)
"""


def look(gain: float) -> str:
    lines = [f"{r * gain} {g * gain} {b * gain}" for b in (0, 1) for g in (0, 1) for r in (0, 1)]
    return "\n".join(["LUT_3D_SIZE 2", *lines, ""])


@pytest.fixture
def reel_file(tmp_path: Path, film, write_stills, lamphouse) -> Path:
    """A reel whose first half has one look and whose second half has another."""
    write_stills(tmp_path / "film", film[:FRAMES])
    soundfile.write(tmp_path / "film.wav", np.zeros((24000, 1)), 48000)
    (tmp_path / "plugins").mkdir()
    (tmp_path / "plugins" / "tinge.py").write_text(PLUGIN)
    path = tmp_path / "film.reel"
    lamphouse("new", path, "--scan", tmp_path / "film", "--sound", tmp_path / "film.wav", "--rate", "24")
    document = json.loads(path.read_text())
    document["chain"] = {
        "nodes": [
            {"name": "look", "kind": "lut", "inputs": ["scan"]},
            {"name": "tinge", "kind": "tinge", "inputs": ["look"]},
        ],
        "output": "tinge",
    }
    document["cues"] = [
        {"frame": frame, "settings": {"look.file": name}} for frame, name in ((0, "a.cube"), (6, "b.cube"))
    ]
    path.write_text(json.dumps(document))
    for name, gain in (("a.cube", 0.5), ("b.cube", 0.75)):
        (tmp_path / name).write_text(look(gain))
    return path


def nodes(reel_file: Path) -> Catalogue:
    """Ours and the plug-in's, found anew: it may have changed."""
    return Catalogue(NODES, lambda: find_plugins({FOLDERS: str(reel_file.parent / "plugins")}))


def the_pass(reel_file: Path, stop: int = FRAMES) -> Plan:
    return plan(open_reel(reel_file, nodes(reel_file)), DELIVERY, 0, stop)


def cut_off(reel_file: Path, master: Path, stop: int = FRAMES) -> None:
    def step(done: int, total: int, limit: str = "", /) -> None:
        if done == 4:
            raise BadInput("Invented trouble.")

    with pytest.raises(BadInput, match="Invented trouble; what is done is kept"):
        transfer(the_pass(reel_file, stop), master, step)


def change_wav(path: Path) -> None:
    soundfile.write(path, np.full((24000, 1), 0.5), 48000)


CHANGES = {
    "the file a.cube": lambda folder: (folder / "a.cube").write_text(look(0.9)),
    "the file b.cube": lambda folder: (folder / "b.cube").write_text(look(0.9)),
    "the scan film": lambda folder: os.utime(folder / "film" / "film.00003.tif", (1, 1)),
    "the sound film.wav": lambda folder: change_wav(folder / "film.wav"),
    "the plug-in {folder}/plugins/tinge.py": lambda folder: (folder / "plugins" / "tinge.py").write_text(
        PLUGIN.replace("* p.amount", "/ p.amount")
    ),
}


def test_a_sound_that_was_moved_is_another(reel_file: Path) -> None:
    made = []
    for moved in ({}, {"rate": "25"}, {"offset": "1/80"}, {"starts_at": 1}):
        document = json.loads(reel_file.read_text())
        document["sound"] = {"path": "film.wav", **moved}
        reel_file.write_text(json.dumps(document))
        pass_ = the_pass(reel_file)
        with Grade(pass_.opened) as grade:
            made.append(made_of(pass_, grade)["the sound film.wav"])
    assert made[0] == digest_of_parts(reel_file.with_name("film.wav"))
    assert len(set(made)) == len(made)


@pytest.mark.parametrize("what", CHANGES)
def test_a_pass_is_not_gone_on_with_when_what_it_is_made_of_has_changed(reel_file: Path, what: str) -> None:
    master = reel_file.with_name("m.mkv")
    cut_off(reel_file, master)
    CHANGES[what](reel_file.parent)
    named = what.format(folder=os.path.realpath(reel_file.parent))
    with pytest.raises(BadInput) as error:
        transfer(the_pass(reel_file), master, lambda *done: None, resume=True)
    assert f"differs in {named};" in str(error.value)
    assert UnderWay(master).part.exists()


def test_a_look_that_no_frame_of_the_pass_needs_may_change(reel_file: Path) -> None:
    master = reel_file.with_name("m.mkv")
    cut_off(reel_file, master, 6)
    (reel_file.parent / "b.cube").unlink()
    transfer(the_pass(reel_file, 6), master, lambda *done: None, resume=True)
    assert master.exists()


@pytest.mark.parametrize("what", CHANGES)
def test_a_pass_during_which_something_changes_is_not_taken_for_a_master(reel_file: Path, what: str) -> None:
    master, folder = reel_file.with_name("m.mkv"), reel_file.parent

    def step(done: int, total: int, limit: str = "", /) -> None:
        if done == 1:
            CHANGES[what](folder)

    with pytest.raises(CheckFailed) as error:
        transfer(the_pass(reel_file), master, step)
    named = what.format(folder=os.path.realpath(folder))
    assert str(error.value) == (
        f"T{named[1:]} changed during the pass, so {master}.part may be made of two; look at it and rename "
        "it, or start anew with --discard."
    )
    assert not master.exists()
    with pytest.raises(BadInput, match="--discard"):  # it may have been put back meanwhile: never unseen
        transfer(the_pass(reel_file), master, lambda *done: None, resume=True)


def test_every_look_is_read_before_the_first_frame_and_not_again(reel_file: Path) -> None:
    master, untouched = reel_file.with_name("m.mkv"), reel_file.with_name("untouched.mkv")
    transfer(the_pass(reel_file), untouched, lambda *done: None)

    def step(done: int, total: int, limit: str = "", /) -> None:
        if done == 1:
            (reel_file.parent / "b.cube").unlink()

    with pytest.raises(CheckFailed, match=r"The file b\.cube changed"):
        transfer(the_pass(reel_file), master, step)
    assert UnderWay(master).part.read_bytes() == untouched.read_bytes()


def test_a_look_that_is_not_there_is_told_before_anything_is_written(reel_file: Path) -> None:
    (reel_file.parent / "b.cube").unlink()
    master = reel_file.with_name("m.mkv")
    with pytest.raises(BadInput, match=r"b\.cube cannot be read"):
        transfer(the_pass(reel_file), master, lambda *done: None)
    assert not list(reel_file.parent.glob("m.mkv*"))
