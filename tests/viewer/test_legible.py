"""Every page at every size: nothing that is written is cut or lies over another, and its colour is known."""

import time
from contextlib import closing
from functools import partial
from itertools import combinations
from typing import NamedTuple

import numpy as np
import pytest
from imgui_bundle import ImVec2, imgui

from lamphouse.graph.edits.arrivals import OUTSIDE, Arrival, Arrived, Left
from lamphouse.graph.edits.tracks import lay
from lamphouse.graph.grade.visibility import Visibility
from lamphouse.graph.reel.records import Track
from lamphouse.graph.survey.proposal import Proposal
from lamphouse.viewer import colours
from lamphouse.viewer.jobs.said import Ended, Line, Outcome
from lamphouse.viewer.models.arriving_list import ArrivingList
from lamphouse.viewer.models.leaving_files import turn_to
from lamphouse.viewer.models.recording import begin_check
from lamphouse.viewer.models.starting import Starting
from lamphouse.viewer.models.surveyed import Surveyed, SurveyFound
from lamphouse.viewer.panels import draw
from lamphouse.viewer.panels.start.page import start_page

SIZES = ((1024, 640, 1.0), (1280, 800, 1.0), (1920, 1080, 1.0), (3840, 2160, 2.0))
LABELLED = ("button", "small_button", "radio_button", "checkbox", "selectable")
BOXED = ("radio_button", "checkbox")  # a mark before their words
SLACK = 1.5  # pixels of rounding


class Ink(NamedTuple):
    """Something written: what, where, what may be seen of its place, and whether that place scrolls."""

    text: str
    left: float
    top: float
    right: float
    bottom: float
    clip: tuple[float, float, float, float]
    window: str
    scrolls: tuple[bool, bool]


class Sheet:
    """What is written in one drawing."""

    def __init__(self):
        self.inks, self.colours, self.tips = [], set(), set()

    def note(self, text, low, size):
        window = imgui.internal.get_current_window_read()
        clip = imgui.get_window_draw_list()
        a, b = clip.get_clip_rect_min(), clip.get_clip_rect_max()
        box = (low[0], low[1], low[0] + size.x, low[1] + size.y)
        if text.strip():
            flags = imgui.WindowFlags_
            scrolls = (
                bool(window.flags & flags.horizontal_scrollbar),
                window.scroll_max.y > 0 and not window.flags & flags.no_scrollbar,
            )
            self.inks.append(Ink(text, *box, (a.x, a.y, b.x, b.y), window.name, scrolls))

    def faults(self):
        wide = imgui.get_io().display_size.x - 4 * imgui.get_style().window_padding.x
        for tip in self.tips:
            if imgui.calc_text_size(tip).x > wide:
                yield f"'{tip}' is wider than the window"
        for ink in self.inks:
            left, top, right, bottom = ink.clip
            across = ink.left < left - SLACK or ink.right > right + SLACK
            down = ink.top < top - SLACK or ink.bottom > bottom + SLACK
            if (across and not ink.scrolls[0]) or (down and not ink.scrolls[1]):
                yield f"'{ink.text}' is cut in {ink.window}: {ink[1:5]} of {ink.clip}"
        for one, other in combinations(self.inks, 2):
            if one.window == other.window and _over(one, other):
                yield f"'{one.text}' lies over '{other.text}' in {one.window}"


def _rounded(colour):
    return tuple(round(part, 3) for part in colour)


def _over(one, other):
    across = min(one.right, other.right) - max(one.left, other.left)
    down = min(one.bottom, other.bottom) - max(one.top, other.top)
    return across > 2 and down > 4  # the rows of a font stand a little into each other


@pytest.fixture
def sheet(monkeypatch):
    """A function that gives what is written from now on."""
    sheets = [Sheet()]

    def shown(label):
        return label.partition("##")[0]

    def written(name, at):
        made = getattr(imgui, name)

        def noted(*given, **named):
            answer = made(*given, **named)
            text = shown(given[at])
            low = imgui.get_item_rect_min()
            style, size = imgui.get_style(), imgui.calc_text_size(text)
            if name.startswith("text"):
                size = imgui.get_item_rect_size()  # in lines, where it is wrapped
            mark = imgui.get_frame_height() + style.item_inner_spacing.x if name in BOXED else 0.0
            inset = style.frame_padding if name not in ("text", "text_colored") else ImVec2(0, 0)
            if name == "selectable":  # half of what is between items is its own
                inset = ImVec2(style.item_spacing.x / 2, style.item_spacing.y / 2)
            sheets[0].note(text, (low.x + (mark or inset.x), low.y + inset.y), size)
            return answer

        monkeypatch.setattr(imgui, name, noted)

    for name, at in (*((name, 0) for name in ("text", *LABELLED)), ("begin_combo", 1), ("text_colored", 1)):
        written(name, at)
    tooltip = imgui.set_item_tooltip

    def tipped(text):
        sheets[0].tips.add(text)
        tooltip(text)

    monkeypatch.setattr(imgui, "set_item_tooltip", tipped)
    text_at = draw.text_at

    def at_point(x, y, text, colour=colours.QUIET, width=0.0):
        sheets[0].colours.add(_rounded(colour))
        sheets[0].note(text, (x, y), imgui.calc_text_size(text, wrap_width=width or -1.0))
        text_at(x, y, text, colour, width)

    for module in list(__import__("sys").modules.values()):
        if getattr(module, "text_at", None) is text_at:
            monkeypatch.setattr(module, "text_at", at_point)

    def begun():
        sheets[0] = Sheet()
        return sheets[0]

    return begun


def _opened(hand):
    hand.panels.preferred.change(opened=(*(ref.name for ref in hand.desk.reel.chain.nodes), "framing"))


def _seen_to_change(hand):
    hand.desk.rename(24, "by the lantern, turned away from the window")
    steps = np.full(7, 1.25)
    hand.display.visible = Visibility(steps, 1.25, 20, 8.75, 24)


def _judged(hand):
    hand.desk.go_to(4, hand.now)
    hand.keys("d")


def _surveyed(hand):
    hand.keys("f12")
    why = "The picture changes by 0.35 from one frame to the next, which is 9 times what it does about there."
    rows = [
        Proposal(kind=kind, what=what, frame=frame, frames=frames, sure=sure, why=why)
        for kind, what, frame, frames, sure in (
            ("marks", "first picture", 0, 1, 0.99),
            ("cues", "dissolve", 12, 10, 0.55),
            ("balance", "start", 12, 1, 0.8),
            ("steadiness", "unsteady picture", 24, 16, 0.4),
        )
    ]
    hand.display.surveyed = Surveyed(found=SurveyFound(hand.display.asked_survey, tuple(rows)))
    hand.frame(2)
    hand.keys("down", "down")


def _brought(hand):
    """A list of two sources with long names, of which most is left for one reason or another."""
    names = ("the second reel of the mill", "the first reel of the mill, as it was scanned again")
    shots = [
        Arrival(
            f"event {n}", "it has no source time", n * 3 if n < 6 else OUTSIDE, 3, f"shot {n}", names[n % 2]
        )
        for n in range(40)
    ]
    left = [
        Left("transition", f"it is a wipe of a kind, {n}, that no reel has", f"event {n}") for n in range(20)
    ]
    hand.keys("f10")
    hand.frame(2)
    turn_to(hand.panels.menu, hand.desk, "list")
    arrived = Arrived(tuple(shots), left=tuple(left))
    hand.panels.menu.arriving = ArrivingList(hand.desk.reel_file.with_name("others.edl"), arrived, "source")


def _checked(hand):
    """After a check of a long master with a long name: the sentences are its own, of every weight."""
    master = hand.desk.reel_file.with_name("the second reel of the mill, as it is to go out.mkv")
    recording = hand.panels.recording
    recording.master, recording.begin = master, lambda order, wake: _Done()
    hand.keys("f5")
    begin_check(hand.desk, recording, hand.now)


class _Done:
    """A check that has ended as it begins."""

    def news(self):
        long = "and those up to frame 1234 (10:00:49:09, cue by the lantern) lie beyond -5 to 105 % of signal"
        lines = [
            Line(
                f"Frame {n} (10:00:00:{n:02}, cue by the lantern) {long * (1 + n % 3)}.",
                n,
                weight,
            )
            for weight in ("fault", "caution", "note")
            for n in range(9)
        ]
        outcome = Outcome("the second reel of the mill, as it is to go out.mkv: 9 faults.", tuple(lines))
        return [Ended("done", outcome=outcome)]


PAGES = {
    "survey": _surveyed,
    "nothing proposed yet": lambda hand: hand.keys("f12"),
    "a change that may be seen": _seen_to_change,
    "judged": _judged,
    "menu": lambda hand: hand.keys("f10"),
    "a list that comes in": _brought,
    "record": lambda hand: hand.keys("f5"),
    "checked": _checked,
    "grade": lambda hand: None,
    "all nodes": _opened,
    "chain": lambda hand: setattr(hand.panels.chain, "is_open", True),
    "help": lambda hand: setattr(hand.panels, "helps", True),
    "sticks": lambda hand: hand.panels.sticks.turn(),
    "leaving": lambda hand: (
        hand.desk.set({"primary.gain": 1.3}),
        setattr(hand.panels, "asks_to_quit", True),
    ),
}


FULL = ("grade", "record", "checked", "survey", "a list that comes in")
CASES = [(page, size) for page in PAGES for size in (SIZES if page in FULL else SIZES[:2])]


@pytest.mark.parametrize(
    ("page", "size"), CASES, ids=lambda of: of if isinstance(of, str) else f"{of[0]}x{of[1]}"
)
def test_nothing_is_cut_and_nothing_lies_over_another(page, size, desk, hand_at, sheet):
    desk.go_to(20, 0)  # within a transition
    hand = hand_at(desk, *size[:2], scale=size[2], font=True)
    PAGES[page](hand)
    hand.frame(4)
    drawn = sheet()
    hand.frame()
    assert list(drawn.faults()) == []
    assert drawn.colours <= {_rounded(colour) for colour in colours.READ}


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_the_list_of_tracks_is_whole_at_every_size(size, desk, hand_at, sheet, items):
    keys = tuple((frame, 0.123 * (-1) ** frame) for frame in range(8, 30))
    for parameter in ("exposure.stops", "framing.position_x", "framing.position_y"):
        track = Track(parameter=parameter, frame=8, frames=22, keys=keys, name="held still", is_on=False)
        desk.edit(lambda reel, track=track: lay(reel, (track,), desk.catalogue))
    hand = hand_at(desk, *size[:2], scale=size[2], font=True)
    left, top, right, bottom = items["tracks"]
    hand.click((left + right) / 2, (top + bottom) / 2)
    hand.frame(3)
    drawn = sheet()
    hand.frame()
    assert {"all off", "thin", "remove"} <= {ink.text for ink in drawn.inks}
    assert list(drawn.faults()) == []


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_nothing_is_cut_on_the_page_that_comes_first(
    size, tmp_path, monkeypatch, reel_file, page_hand, sheet
):
    monkeypatch.chdir(reel_file.parent)
    with closing(Starting(tmp_path / "settings", lambda: None)) as starting:
        starting.browser.go(reel_file.parent)
        draw_page = partial(start_page, starting, size[2], {})
        hand = page_hand(draw_page, starting.take_news, *size, font=True)
        end = time.monotonic() + 60  # seconds after which the test gives up
        while starting.is_busy and time.monotonic() < end:
            hand.frame()
        hand.frame(3)
        drawn = sheet()
        hand.frame()
        assert list(drawn.faults()) == []
