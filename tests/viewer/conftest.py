"""A short reel with a real scan, for the desk, and a hand that works at the desk without a window."""

from fractions import Fraction

import numpy as np
import pytest
import skimage.data
from imgui_bundle import ImVec2, imgui

from lamphouse.graph.media.master import open_master
from lamphouse.graph.presets import chain_preset
from lamphouse.graph.reel import Cue, Delivery, Reel, ScanRef
from lamphouse.graph.store import load, save
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.screen import Screen
from lamphouse.viewer.panels import look
from lamphouse.viewer.scopes.parade import histogram
from lamphouse.viewer.scopes.tones import tones
from lamphouse.viewer.window.gui import gui

FRAMES, WIDTH, HEIGHT = 40, 128, 96
SCAN = Delivery(container="matroska", codec="ffv1", pixel_format="yuv422p10le")


@pytest.fixture(scope="session")
def scan_file(tmp_path_factory):
    """A scan of scikit-image's cat, one column farther in every frame."""
    path = tmp_path_factory.mktemp("scan") / "scan.mkv"
    cat = np.moveaxis(skimage.data.chelsea()[::2, ::2].astype(np.float32) / 255, -1, 0)
    facts = {"rate": Fraction(24), "timecode": "10:00:00:00", "pixel_aspect": Fraction(1)}
    with open_master(path, SCAN, width=WIDTH, height=HEIGHT, **facts) as master:
        for n in range(FRAMES):
            master.write(np.ascontiguousarray(cat[:, 20 : 20 + HEIGHT, n : n + WIDTH]))
        master.finish()
    return path


@pytest.fixture
def reel_file(tmp_path, scan_file):
    """A saved reel with two cues, the second arriving over eight frames."""
    cues = (
        Cue(frame=4, name="one", settings={"primary.gain": 1.2}),
        Cue(frame=24, name="two", arrive="transition", over=8, settings={"primary.gain": 0.8}),
    )
    scan = ScanRef(path=str(scan_file), frames=FRAMES, width=WIDTH, height=HEIGHT)
    path = tmp_path / "cat.reel"
    save(path, Reel(scan=scan, chain=chain_preset("everyday").chain, cues=cues))
    return path


@pytest.fixture
def desk(reel_file):
    """A desk with that reel."""
    return Desk(reel_file, load(reel_file), Catalogue())


class Hand:
    """Draws frames of the desk and moves the mouse between them."""

    def __init__(self, desk, width=1280, height=800, scale=1.0):
        self.desk, self.screen = desk, Screen(scale=scale)
        imgui.create_context()
        self.io = imgui.get_io()
        self.io.set_ini_filename("")
        self.io.backend_flags |= imgui.BackendFlags_.renderer_has_textures
        self.io.display_size, self.size = ImVec2(width, height), (width, height)
        look.put_on(scale)
        picture = np.random.default_rng(1).uniform(0, 1, (3, 96, 128)).astype(np.float32)
        self.screen.graded = self.screen.scanned = picture
        self.screen.scopes.histogram = histogram(picture).counts
        self.screen.scopes.tones = tones(picture)
        self.frame(3)

    def frame(self, count=1):
        for _ in range(count):
            self.io.delta_time = 1 / 60
            self.screen.now += 16_000_000
            imgui.new_frame()
            gui(self.desk, self.screen)
            imgui.render()

    def move(self, x, y):
        self.io.add_mouse_pos_event(x, y)
        self.frame()

    def press(self, button=0):
        self.io.add_mouse_button_event(button, True)
        self.frame()

    def release(self, button=0):
        self.io.add_mouse_button_event(button, False)
        self.frame()

    def click(self, x, y):
        self.move(x, y)
        self.press()
        self.release()

    def drag(self, start, stop, steps=10):
        self.move(*start)
        self.press()
        for n in range(1, steps + 1):
            self.move(*(a + (b - a) * n / steps for a, b in zip(start, stop, strict=True)))
        self.release()

    def strip_x(self, frame):
        start, stop = self.screen.strip.span
        return 10 + (frame - start) / (stop - start) * (self.size[0] - 20)

    def key(self, name):
        for is_down in (True, False):
            self.io.add_key_event(getattr(imgui.Key, name), is_down)
            self.frame()

    @property
    def strip_top(self):
        return self.size[1] - 110


@pytest.fixture
def hand_at():
    """A function that sets a hand to a desk, at a width, a height and a scale; one hand at a time."""
    begun = []

    def at(desk, *size):
        if begun:
            imgui.destroy_context()
        begun.append(Hand(desk, *size))
        return begun[-1]

    yield at
    if begun:
        imgui.destroy_context()


@pytest.fixture
def hand(desk, hand_at):
    """A hand at the desk in a window of 1280 by 800."""
    return hand_at(desk)
