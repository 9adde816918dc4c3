"""The real window: without a screen by EGL, and on a virtual one with a real mouse and keys."""

import os
import subprocess
import sys

import msgspec
import numpy as np
import OpenImageIO as oiio
import pytest

from lamphouse.graph.edits.cues import cue_at
from lamphouse.graph.reel.records import ChainRef, Cue, NodeRef
from lamphouse.graph.reel.store import load, save
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.viewer.main import main

IN_CI = bool(os.environ.get("CI"))


def lamphouse(*words, **more):
    command = [sys.executable, "-m", "lamphouse", *map(str, words)]
    return subprocess.run(command, capture_output=True, text=True, timeout=120, check=False, **more)


def pixels(path):
    return oiio.ImageBuf(str(path)).get_pixels(oiio.FLOAT)


@pytest.fixture
def graphics(reel_file):
    """The desk's picture of the reel, or a skip where this machine has no GL; in CI that is a failure."""
    path = reel_file.with_name("desk.png")
    done = lamphouse("desk", reel_file, "--picture", path, "--at", "30", "--size", "1280x800")
    if done.returncode == 2 and "graphics" in done.stderr and not IN_CI:
        pytest.skip(done.stderr)
    assert done.returncode == 0, done.stderr
    assert "Warning" not in done.stderr
    return path


@pytest.fixture
def has_graphics(unseen):
    """A skip where this machine has no GL; in CI that is a failure."""
    with unseen((320, 240)):
        pass


def test_the_window_is_drawn_into_a_file_with_the_graded_picture_in_it(graphics, reel_file):
    shown = pixels(graphics)
    assert shown.shape == (800, 1280, 3)
    corner = shown[60, 20]
    assert corner[0] == corner[1] == corner[2]  # the surround has no tint
    # The cat at frame 30 under gain 0.8, as IEC 61966-2-1 shows light = signal ** 2.4 (ITU-R BT.1886).
    with open_reel(reel_file).open_scan() as scan:
        light = np.clip(scan.read(30) * 0.8, 0, 1) ** 2.4
    code = np.where(light < 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    middle = shown[110:560, 20:620].mean((0, 1))
    np.testing.assert_allclose(middle, code.mean((1, 2)), atol=0.02)


PLUGIN = """
from lamphouse.nodes.contract import Node, Parameter, Reach, Signal
LAMPHOUSE = {"contract": 1, "nodes": {"dims": "Dims, and breaks at one setting."}}
def dims(picture, p):
    if abs(p.amount - 0.375) < 1e-6:
        raise RuntimeError("a fault of its own")
    return picture * (1 - p.amount)
PARAMETERS = (Parameter("amount", "How much.", 0.0),)
NODES = (Node("dims", "Dims.", Signal.VIDEO, Reach.POINT, PARAMETERS, dims, is_array=True),)
"""


def drawn(reel_file, tmp_path, name, *words, **changes):
    """The desk's picture of the reel with some of its fields changed."""
    changed = reel_file.with_name(f"{name}.reel")
    save(changed, msgspec.structs.replace(load(reel_file), **changes))
    picture = tmp_path / f"{name}.png"
    done = lamphouse(*words, "desk", changed, "--picture", picture, "--at", "10", "--size", "1024x640")
    assert (done.returncode, done.stderr) == (0, "")
    return pixels(picture)


@pytest.mark.slow
def test_a_plug_in_that_breaks_and_a_scan_that_is_gone_leave_the_desk_alive(
    has_graphics, reel_file, tmp_path
):
    folder = tmp_path / "plugins"
    folder.mkdir()
    (folder / "dims.py").write_text(PLUGIN)
    chain = ChainRef(nodes=(NodeRef(name="dims", kind="dims", inputs=("scan",)),), output="dims")

    def with_amount(amount, *words):
        cues = (Cue(frame=0, settings={"dims.amount": amount}),)
        return drawn(reel_file, tmp_path, f"dims-{len(words)}-{amount}", *words, chain=chain, cues=cues)

    plugins = ("--plugins", str(folder))
    inside = (slice(180, 300), slice(60, 300))
    bright, dim, broken = (with_amount(amount, *plugins)[inside].mean() for amount in (0.0, 0.5, 0.375))
    assert bright > dim + 0.1
    assert abs(broken - 0x1B / 255) < 0.15  # nothing could be drawn, and the desk said so and went on
    assert with_amount(0.5)[inside].mean() == pytest.approx(bright, abs=0.01)  # not here: it passes through
    gone = msgspec.structs.replace(load(reel_file).scan, path="gone.mkv")
    assert drawn(reel_file, tmp_path, "gone", scan=gone).shape == (640, 1024, 3)


@pytest.mark.slow
def test_without_a_screen_one_sentence_says_so(reel_file):
    done = lamphouse("desk", reel_file, env=os.environ | {"DISPLAY": "", "WAYLAND_DISPLAY": ""})
    assert (done.returncode, len(done.stderr.strip().splitlines())) == (2, 1), done.stderr


@pytest.mark.parametrize(
    "words",
    [
        ("--size", "wide"),
        ("--picture", "desk.jpg"),
        ("--picture", "d.png", "--at", "12:00:00:00"),
        ("--picture", "d.png", "--node", "nope"),
    ],
)
def test_what_cannot_be_opened_is_one_sentence(reel_file, words, monkeypatch, capfd):
    monkeypatch.chdir(reel_file.parent)
    monkeypatch.setattr(sys, "argv", ["lamphouse", "desk", str(reel_file), *words])
    with pytest.raises(SystemExit) as end:
        main()
    said = capfd.readouterr().err
    assert (end.value.code, len(said.strip().splitlines())) == (2, 1), said


@pytest.mark.slow
def test_a_cue_is_set_by_real_mouse_and_keys_and_saved(screen, has_graphics, until_idle, wait_for, reel_file):
    def tool(*words):
        subprocess.run(["xdotool", *map(str, words)], env=screen, check=True, timeout=30)

    with subprocess.Popen(
        [sys.executable, "-m", "lamphouse", "desk", str(reel_file), "--size", "1280x800"],
        env=screen,
        stderr=subprocess.PIPE,
        text=True,
    ) as desk:
        try:
            wait_for(screen, "search", "--name", "Lamphouse")
            until_idle(desk)
            tool("key", "F11")
            wait_for(screen, "search", "--onlyvisible", "--name", "the picture alone")
            until_idle(desk)
            tool("key", "Escape")
            until_idle(desk)
            tool("key", "End")  # the last frame, where the second cue holds
            until_idle(desk)
            tool("mousemove", 740, 419, "mousedown", 1)  # the master of the shadows, lift
            until_idle(desk)
            for _ in range(6):
                tool("mousemove_relative", 10, 0)
                until_idle(desk)  # no hand is as quick as this program
            tool("mouseup", 1)
            tool("key", "Left", "Left", "Return")  # a cue at frame 37
            until_idle(desk)
            tool("key", "ctrl+s")
            until_idle(desk)
            tool("key", "ctrl+q")
            assert desk.wait(30) == 0
        finally:
            desk.kill()
        assert desk.stderr.read() == ""
    reel = load(reel_file)
    assert cue_at(reel, 24).settings["primary.lift"] > 0.02
    assert cue_at(reel, 37).settings == cue_at(reel, 24).settings
    assert not reel_file.with_name("cat.reel.recovery").exists()
