"""One session by real mouse and keys: from a folder with a scan alone to a checked master with an insert.

No command is typed. Afterwards commands make the same of the same reels, byte for byte. The film is of
scikit-image's cat and cup, with a cast of our own.
"""

import contextlib
import shutil
import subprocess
import sys
import time
from fractions import Fraction

import numpy as np
import pytest
import skimage.data

from lamphouse.graph.edits.cues import cue_at
from lamphouse.graph.media.master.master import open_master
from lamphouse.graph.reel.records import Delivery
from lamphouse.graph.reel.store import load

MADE = Delivery(container="matroska", codec="ffv1", pixel_format="yuv422p10le")
FRAMES, CUT, WIDTH, HIGH = 8, 4, 128, 96
CAST = np.array([1.0, 0.8, 0.7], np.float32)[:, None, None]
PATIENCE = 60  # seconds
START, SHADOWS, MASTER = (1155, 702), (740, 250), (1167, 419)  # of a window of 1280x800


@pytest.fixture
def folder(tmp_path):
    place = tmp_path / "work"
    place.mkdir()
    with open_master(
        place / "film.mkv",
        MADE,
        width=WIDTH,
        height=HIGH,
        rate=Fraction(24),
        timecode="10:00:00:00",
        pixel_aspect=Fraction(1),
    ) as master:
        for n in range(FRAMES):
            picture = (skimage.data.chelsea if n < CUT else skimage.data.coffee)()[::2, ::2]
            light = np.moveaxis(picture.astype(np.float32) / 255, -1, 0)
            master.write(np.ascontiguousarray(light[:, 20 : 20 + HIGH, n : n + WIDTH] * CAST))
        master.finish()
    return place


class Hands:
    """A mouse and a keyboard, which count what they do, and eyes that see when something is there."""

    def __init__(self, screen, process, idle):
        self._screen, self._process, self._idle = screen, process, idle
        self.keys = self.clicks = 0

    def _tool(self, *words):
        subprocess.run(["xdotool", *map(str, words)], env=self._screen, check=True, timeout=30)

    def press(self, *names):
        for name in names:
            self._tool("key", name)
            self.keys += 1
        self._idle(self._process)

    def leaves(self):
        """Ask the desk to close, which it refuses while a proof runs; return its exit status if it has."""
        self._tool("key", "ctrl+q")
        with contextlib.suppress(subprocess.TimeoutExpired):
            self._process.wait(1)
        return self._process.poll()

    def type(self, text):
        self._tool("type", text)
        self.keys += len(text)
        self._idle(self._process)

    def click(self, x, y):
        self._tool("mousemove", x, y)
        self._idle(self._process)
        self._tool("click", 1)
        self.clicks += 1
        self._idle(self._process)

    def drag(self, start, by, steps=4):
        self._tool("mousemove", *start)
        self._idle(self._process)
        self._tool("mousedown", 1)
        self._idle(self._process)
        for _ in range(steps):
            self._tool("mousemove_relative", "--", *by)
            self._idle(self._process)
        self._tool("mouseup", 1)
        self.clicks += 1
        self._idle(self._process)


def until(is_so):
    end = time.monotonic() + PATIENCE
    while not is_so():
        assert time.monotonic() < end
        time.sleep(0.1)


def lamphouse(*words):
    command = [sys.executable, "-m", "lamphouse", *map(str, words)]
    subprocess.run(command, check=True, capture_output=True, timeout=PATIENCE)


@pytest.mark.slow
def test_from_a_folder_with_a_scan_to_a_checked_master_with_an_insert_by_hand_alone(
    screen, wait_for, until_idle, folder, tmp_path
):
    reel, master, first = folder / "film.reel", folder / "film-master.mkv", tmp_path / "first"
    record = master.with_name("film-master.mkv.record.json")
    command = [sys.executable, "-m", "lamphouse", "desk", "--size", "1280x800"]
    own = screen | {"LAMPHOUSE_SETTINGS": str(tmp_path / "settings")}  # a person who begins
    with subprocess.Popen(command, env=own, cwd=folder, stderr=subprocess.PIPE, text=True) as desk:
        try:
            wait_for(screen, "search", "--name", "Lamphouse")
            until_idle(desk)
            hands = Hands(screen, desk, until_idle)
            hands.type("film")
            hands.press("Return")
            hands.click(*START)
            until(reel.exists)
            until_idle(desk)
            hands.drag(SHADOWS, (-10, 6))
            hands.press(*["Right"] * CUT, "Return")  # a cue at the change of shot
            hands.drag(MASTER, (-15, 0))
            hands.press("ctrl+s", "F5", "ctrl+r")
            until(record.exists)
            until_idle(desk)
            shutil.copytree(folder, first)
            hands.press("F5")
            hands.drag(MASTER, (-10, 0))
            hands.press("F5", "F9")
            made = record.read_bytes()
            hands.press("ctrl+i")
            until(lambda: record.read_bytes() != made)
            until_idle(desk)
            hands.press("ctrl+s", "ctrl+p")  # saved, and verified against the reel
            until(lambda: hands.leaves() is not None)
            assert desk.poll() == 0
        finally:
            desk.kill()
        assert desk.stderr.read() == ""
    print(f"{hands.keys} keys and {hands.clicks} clicks and drags")
    assert hands.keys + hands.clicks < 40
    now, then = load(reel), load(first / "film.reel")
    assert now.cues[0].settings["primary.lift_balance"] != [0, 0, 0]
    assert cue_at(now, CUT).settings["primary.gain"] < cue_at(then, CUT).settings["primary.gain"] < 1
    # The same by commands: a reel, its pass, the insert.
    (first / master.name).rename(tmp_path / "by-hand.mkv")
    (first / record.name).unlink()
    lamphouse("transfer", first / "film.reel", "-o", first / master.name)
    assert (first / master.name).read_bytes() == (tmp_path / "by-hand.mkv").read_bytes()
    shutil.copy(reel, first / "film.reel")
    lamphouse("insert", first / "film.reel", first / master.name, "--stale")
    assert (first / master.name).read_bytes() == master.read_bytes()
    lamphouse("verify", master, reel)
