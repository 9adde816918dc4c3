"""A short reel with a real scan, for the desk, and a hand that works at the desk without a window."""

import os
import shutil
import subprocess
import time
from collections import deque
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import imgui_bundle
import numpy as np
import pytest
import skimage.data
from imgui_bundle import ImVec2, imgui

from lamphouse.graph.chain.numpy_run import NumpyRun
from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.chain.rewrite import bind
from lamphouse.graph.media.master.master import open_master
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Cue, Delivery, Reel, ScanRef
from lamphouse.graph.reel.store import save
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.commands.command import Inputs
from lamphouse.viewer.models.copying import Copied
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.hearing import MUTED, Hearing
from lamphouse.viewer.models.keys import Press
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.scanned import Frame
from lamphouse.viewer.models.seen import Textures
from lamphouse.viewer.models.surveyed import Surveyed
from lamphouse.viewer.panels import look
from lamphouse.viewer.turn.counting import counted
from lamphouse.viewer.turn.display import News
from lamphouse.viewer.turn.hands import Hands
from lamphouse.viewer.turn.loop import Loop
from lamphouse.viewer.turn.wishes import Answer
from lamphouse.viewer.window.gui import gui
from lamphouse.viewer.window.keyboard import is_typing

ITEMS = (
    "begin_combo",
    "button",
    "checkbox",
    "drag_int",
    "input_text",
    "input_text_with_hint",
    "invisible_button",
    "radio_button",
    "selectable",
    "slider_float",
    "small_button",
)
FRAMES, WIDTH, HEIGHT = 40, 128, 96
MADE = Delivery(container="matroska", codec="ffv1", pixel_format="yuv422p10le")


@pytest.fixture(scope="session")
def scan_file(tmp_path_factory):
    """A scan of scikit-image's cat, one column farther in every frame."""
    path = tmp_path_factory.mktemp("scan") / "scan.mkv"
    cat = np.moveaxis(skimage.data.chelsea()[::2, ::2].astype(np.float32) / 255, -1, 0)
    facts = {"rate": Fraction(24), "timecode": "10:00:00:00", "pixel_aspect": Fraction(1)}
    with open_master(path, MADE, width=WIDTH, height=HEIGHT, **facts) as master:
        for n in range(FRAMES):
            master.write(np.ascontiguousarray(cat[:, 20 : 20 + HEIGHT, n : n + WIDTH]))
        master.finish()
    return path


@pytest.fixture
def reel_file(tmp_path, scan_file):
    """A saved reel with two cues, the second with a transition of eight frames."""
    cues = (
        Cue(frame=4, name="one", settings={"primary.gain": 1.2}),
        Cue(frame=24, name="two", begins="transition", length=8, settings={"primary.gain": 0.8}),
    )
    scan = ScanRef(path=str(scan_file), frames=FRAMES, width=WIDTH, height=HEIGHT)
    path = tmp_path / "cat.reel"
    save(path, Reel(scan=scan, chain=chain_preset("everyday").chain, cues=cues))
    return path


@pytest.fixture
def desk(reel_file):
    """A desk with that reel."""
    return Desk(open_reel(reel_file, Catalogue()))


class Double:
    """A display by the definition: frames come when they are read, chains are done by NumPy.

    `is_quick` reads a frame as soon as it is asked for; else a test does, by `read`.
    """

    def __init__(self, desk, picture_at=None):
        random = np.random.default_rng(1).uniform(0, 1, (3, 96, 128)).astype(np.float32)
        self.picture_at = picture_at or (lambda frame: random)
        self.desk, self.is_quick, self.wishes = desk, True, []
        self.graded = self.other = self.found = self._showing = None
        self.visible, self.master, self.is_complete = None, None, True
        self.judgement = self.case = self.marked = self.delivered = None
        self.others, self.asked_of_master, self.reads = [], [], 0
        self.done, self.strips, self.measured = [], [], []
        self.textures, self.elsewhere, self.mattes = Textures(), [], []
        self.shots, self.sharp = [], None
        self.copied, self.surveyed = Copied(), Surveyed()
        self._answers, self._unreadable, self._run = deque(), {}, NumpyRun(1)

    def damage(self, frame, said):
        """Let a frame be unreadable."""
        self._unreadable[frame] = said

    def read(self, wish=None):
        """Answer a wish, the newest where none is given."""
        wish = wish or self.wishes[-1]
        said = self._unreadable.get(wish.frame, "")
        found = None if said else Frame(self.picture_at(wish.frame), wish.divides)
        self._answers.append(Answer(wish, found, said))

    @property
    def has_answers(self):
        return bool(self._answers)

    def small_width(self):
        return 96

    def news(self):
        newest = None
        while self._answers:
            newest = self._answers.popleft()
        master, self.master = self.master, None
        judgement, self.judgement = self.judgement, None
        is_any = any(found is not None for found in (newest, master, judgement))
        return News(newest, master=master, judgement=judgement, is_any=is_any)

    def ask(self, wish):
        self.wishes.append(wish)
        if self.is_quick:
            self.read(wish)

    def follow_copy(self, wanted, first):
        self.copied_from = first if wanted.is_on else None
        return self.copied

    def follow_survey(self, asked):
        self.asked_survey = asked
        return self.surveyed

    def take(self, answer):
        self.found = answer.found
        self.done.append("take")

    def grade(self, drawing):
        self.done.append(("grade", drawing.divide))
        self.drawing = drawing
        try:
            program = self.desk.opened.program(drawing.chain)
        except BadInput as error:
            return str(error)
        bound = bind(program.expression(drawing.settings), program.numbers(drawing.settings))
        self.graded = np.float32(self._run.run(bound, {SCAN: np.float64(self.found.picture(drawing.divide))}))
        return ""

    def draw_matte(self, drawing, node):
        self.mattes.append((drawing, node))
        return ""

    def ask_master(self, master, wish):
        self.asked_of_master.append((master, wish))

    def ask_judge(self, case):
        self.case = case

    def ask_record(self, asked):
        self.asked_record = asked

    def mark(self, beyond):
        self.marked = beyond

    def draw_other(self, shown):
        self.others.append(shown)
        return ""

    def read_other(self):
        self.reads += 1
        return self.found.finest

    def paint(self, height):
        pass

    def show(self, look, place="picture"):
        if place != "picture":
            self.elsewhere.append((place, look))
            return
        self.done.append("show")
        self.look = look
        self._showing = None if self.graded is None else (look, self.graded)

    @property
    def shown(self):
        """The picture in the window, which most tests never look at."""
        return None if self._showing is None else displayed(*self._showing)

    def draw_strip(self, reel, frames):
        self.strips.append((reel, frames))

    def count(self, region, delivered=None, *, is_waited=True):
        self.done.append("count")
        self.delivered = delivered
        return None if self.graded is None else counted(self.graded, self.found.finest, region, delivered)

    def sharpness(self, shot, frame):
        self.shots.append((shot, frame))
        return self.sharp

    def measure(self, reel, cue, scanned):
        self.measured.append(cue.frame)
        return self.visible


def displayed(look, graded):
    """The display step by its definition: light = signal ** 2.4 (ITU-R BT.1886), shown by IEC 61966-2-1."""
    y, x = np.mgrid[: look.size[1], : look.size[0]] + 0.5
    place = (x - look.area.left) / look.area.width, (y - look.area.top) / look.area.height
    across, down = look.lie.under(place)
    inside, lit = _within((0, 0, 1, 1), *place), _within(look.lie.window, *place)
    lit &= _within(look.lie.edges, across, down)
    columns = np.clip(across * graded.shape[2], 0, graded.shape[2] - 1).astype(int)
    rows = np.clip(down * graded.shape[1], 0, graded.shape[1] - 1).astype(int)
    signal = np.where(lit, graded[:, rows, columns], 0)
    light = np.clip(signal, 0, None) ** 2.4
    code = np.where(light < 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    low, high = look.limits
    out = ((signal < low) | (signal > high)).any(axis=0) & (low < high) & ((x + y) % 8 < 4)
    return np.clip(np.where(inside, np.where(out, 1 - code, code), 0x1B / 255), 0, 1)


def _within(box, x, y):
    return (x >= box[0]) & (x < box[2]) & (y >= box[1]) & (y < box[3])


class Fingers:
    """The one driver of ImGui: moves the mouse and presses keys; `frame` draws whatever it works at."""

    def __init__(self, width, height, scale, font):
        imgui.create_context()
        self.io = imgui.get_io()
        self.io.set_ini_filename("")
        self.io.backend_flags |= imgui.BackendFlags_.renderer_has_textures
        self.io.display_size, self.size = ImVec2(width, height), (width, height)
        if font:  # the desk's own: what fits depends on it
            path = Path(imgui_bundle.__file__).parent / "assets" / "fonts" / look.FONT
            self.io.fonts.add_font_from_file_ttf(str(path), look.SIZE)
        look.put_on(scale)

    def frame(self, count=1, seconds=1 / 60):
        raise NotImplementedError

    def rest(self):
        """Let the time pass in which two clicks would be a double one."""
        self.frame(1, 1.0)

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

    def type(self, text):
        for letter in text:
            self.io.add_input_character(ord(letter))
            self.frame()

    def key(self, name):
        """Press a key that ImGui takes."""
        for is_down in (True, False):
            self.io.add_key_event(getattr(imgui.Key, name), is_down)
            self.frame()


class Hand(Fingers):
    """A hand at the desk: surface and ear of a real loop."""

    def __init__(self, desk, width=1280, height=800, scale=1.0, *, display=None, hands=None, font=False):
        self.desk, self.panels = desk, Panels(scale=scale)
        super().__init__(width, height, scale, font)
        self.presented = []
        self.now, self.tick, self.inputs, self.heard = 10**9, 16_000_000, Inputs(), Hearing()
        self.display, self.hands = display or Double(desk), hands or Hands([])
        self.loop = Loop(
            desk,
            self.panels,
            self.display,
            surface=self,
            hands=self.hands,
            ear=self,
            clock=lambda: self.now,
        )
        self.frame(3)

    @property
    def seen(self):
        return self.loop.seen

    def begin(self):
        imgui.new_frame()
        inputs, self.inputs = self.inputs, Inputs()
        return replace(inputs, is_typing=is_typing())

    def draw(self, desk, panels, seen):
        gui(desk, panels, seen)
        imgui.render()

    def present(self, paint):
        pass

    def present_alone(self, texture, size):
        self.presented.append(size)

    def follow(self, desk, *, is_on, level):
        self.level = level
        return self.heard if is_on else Hearing(MUTED, "The sound is muted.")

    def frame(self, count=1, seconds=1 / 60):
        for _ in range(count):
            self.io.delta_time = seconds
            self.now += self.tick
            self.loop.turn()
            while self.display.is_quick and self.display.has_answers:
                self.loop.turn()

    def strip_x(self, frame):
        start, stop = self.panels.strip.span
        return 10 + (frame - start) / (stop - start) * (self.size[0] - 20)

    def keys(self, *names, is_control=False, is_shift=False):
        """Press keys that the desk takes."""
        self.inputs = Inputs(pressed=tuple(Press(name, is_control, is_shift) for name in names))
        self.frame(2)

    def let_go(self, name):
        self.inputs = Inputs(let_go=(name,))
        self.frame()

    @property
    def strip_top(self):
        return self.size[1] - 110


class PageHand(Fingers):
    """A hand at a page that is drawn by a function, whatever `take_news` brings from its threads."""

    def __init__(self, draw, take_news, width=1024, height=640, scale=1.0, *, font=False):
        super().__init__(width, height, scale, font)
        self._draw, self._take_news = draw, take_news
        self.io.config_flags |= imgui.ConfigFlags_.nav_enable_keyboard
        self.frame(3)

    def frame(self, count=1, seconds=1 / 60):
        for _ in range(count):
            self._take_news()
            self.io.delta_time = seconds
            imgui.new_frame()
            self._draw()
            imgui.render()


@pytest.fixture
def hand_at():
    """A function that sets a hand to a desk, at a width, a height and a scale; one hand at a time."""
    begun = []

    def at(desk, *size, **more):
        if begun:
            imgui.destroy_context()
        begun.append(Hand(desk, *size, **more))
        return begun[-1]

    yield at
    if begun:
        imgui.destroy_context()


@pytest.fixture
def page_hand():
    """A function that sets a hand to a page; one a test."""
    begun = []

    def at(*page, **more):
        begun.append(PageHand(*page, **more))
        return begun[-1]

    yield at
    if begun:
        imgui.destroy_context()


@pytest.fixture
def hand(desk, hand_at):
    """A hand at the desk in a window of 1280 by 800."""
    return hand_at(desk)


@pytest.fixture
def double():
    """The class of the display by the definition."""
    return Double


@pytest.fixture
def displayed_by_definition():
    """The display step by its definition."""
    return displayed


@pytest.fixture
def items(monkeypatch):
    """Where each item that has words was last drawn, by its words: left, top, right, bottom."""
    places = {}

    def noted(draw):
        def drawn(label, *rest, **named):
            answer = draw(label, *rest, **named)
            low, high = imgui.get_item_rect_min(), imgui.get_item_rect_max()
            places[label] = (low.x, low.y, high.x, high.y)
            return answer

        return drawn

    for name in ITEMS:
        monkeypatch.setattr(imgui, name, noted(getattr(imgui, name)))
    return places


def _wait_for(environment, *words):
    """Ask xdotool until it says yes."""
    for _ in range(200):
        asked = subprocess.run(["xdotool", *words], env=environment, capture_output=True, check=False)
        if asked.returncode == 0:
            return
        time.sleep(0.1)
    pytest.fail(f"xdotool {' '.join(words)} never succeeded: {asked.stderr.decode()}")


@pytest.fixture(scope="session")
def wait_for():
    """What asks xdotool until it says yes."""
    return _wait_for


@pytest.fixture
def screen(wait_for):
    """A virtual screen of 1280x800, as the environment for programs on it."""
    if not (shutil.which("Xvfb") and shutil.which("xdotool")):
        if os.environ.get("CI"):
            pytest.fail("Xvfb and xdotool are wanted in CI.")
        pytest.skip("Xvfb and xdotool are not here.")
    read, write = os.pipe()
    server = subprocess.Popen(
        ["Xvfb", "-displayfd", str(write), "-screen", "0", "1280x800x24", "-nolisten", "tcp", "-noreset"],
        pass_fds=[write],
        stderr=subprocess.DEVNULL,
    )
    os.close(write)
    with os.fdopen(read) as told:
        number = told.readline().strip()
    environment = os.environ | {"DISPLAY": f":{number}"}
    wait_for(environment, "getdisplaygeometry")  # the number is told a moment before the screen takes anybody
    yield environment
    server.terminate()
    server.wait()


def _until_idle(process):
    """Wait until a process has used next to no processor time for a moment: the desk has come to rest."""
    stat, before, quiet = Path(f"/proc/{process.pid}/stat"), -1, 0
    for _ in range(1000):
        time.sleep(0.1)
        fields = stat.read_text().rpartition(")")[2].split()
        used = int(fields[11]) + int(fields[12])  # hundredths of a second, in and out of the kernel: proc(5)
        quiet = quiet + 1 if used - before <= 1 else 0
        if quiet == 2:
            return
        before = used
    raise AssertionError("The desk does not come to rest.")


@pytest.fixture(scope="session")
def until_idle():
    """What waits until a process uses next to no processor time: the desk has come to rest."""
    return _until_idle


@pytest.fixture(scope="session")
def unseen():
    """A function that opens a window of a size that nobody sees; a skip without GL, in CI a failure."""
    from lamphouse.viewer.window.window import Window

    def opened(size):
        try:
            return Window(size, 1.0, is_seen=False)
        except BadInput as error:
            if os.environ.get("CI"):
                raise
            pytest.skip(str(error))

    return opened
