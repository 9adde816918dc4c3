"""The page of the sticks without a window: found by what is written on it, clicked, typed into."""

import math

import pytest

imgui_bundle = pytest.importorskip("imgui_bundle")
from imgui_bundle import imgui  # noqa: E402

from lamphouse.viewer.models.commands import command as commands  # noqa: E402
from lamphouse.viewer.sticks.learn import Learning  # noqa: E402
from lamphouse.viewer.sticks.mapping import Move, Press, StickMap, stick_map, with_move  # noqa: E402
from lamphouse.viewer.sticks.shelf import Shelf  # noqa: E402
from lamphouse.viewer.sticks.step import Pose, Seen  # noqa: E402
from lamphouse.viewer.turn.decide import STICKS as EVERY  # noqa: E402
from lamphouse.viewer.turn.hands import LET_GO, Hands  # noqa: E402

SIZES = [(1280, 800, 1.0), (1920, 1080, 1.0), (2560, 1600, 2.0)]
PAD = Seen(("Invented pad",), tuple(range(15)))
JOYSTICKS = Seen(("Invented left", "Invented right"), (*range(14), *range(32, 46)))
ITEMS = ("button", "selectable", "radio_button", "begin_combo", "input_text", "drag_float")
TEXTS = ("text", "text_colored")


def pad(axes=None, down=()):
    stands = dict(enumerate((0.0, 0.0, 0.0, 0.0, -1.0, -1.0))) | (axes or {})
    return Pose(tuple(stands.values()), tuple(n in down for n in range(15)))


def two(axes=None):
    none = (math.nan,) * 4
    stands = dict(enumerate((0.0, 0.0, 0.5, 0.0, *none, 0.0, 0.0, -0.5, 0.0, *none))) | (axes or {})
    return Pose(tuple(stands.values()), (False,) * 64)


class Feed:
    """A device that stands where the test puts it."""

    def __init__(self, pose, seen):
        self.pose, self.what = pose, seen

    def read(self):
        return self.pose

    def seen(self):
        return self.what if self.pose else None


class Table:
    """A desk with its page of sticks open, a device that plays poses, and a mouse that finds words."""

    def __init__(self, desk, monkeypatch, hand_at, settings, *, size=SIZES[0], kind="gamepad"):
        self.device = Feed(pad(), PAD) if kind == "gamepad" else Feed(two() if kind else None, JOYSTICKS)
        self.items, self.texts = {}, {}
        for name in ITEMS:
            monkeypatch.setattr(imgui, name, self.noted(getattr(imgui, name)))
        for name in TEXTS:
            monkeypatch.setattr(imgui, name, self.noted(getattr(imgui, name), is_text=True))
        self.hand = hand_at(desk, *size, hands=Hands([(kind, self.device)]), font=True)
        self.desk, self.panels, self.io = desk, self.hand.panels, self.hand.io
        self.hand.tick = EVERY
        self.page = self.panels.sticks
        self.page.shelf = Shelf(settings)
        self.desk.go_to(10, 0)
        self.keys("f2")
        self.frame(3)

    def noted(self, draw, *, is_text=False):
        def drawn(*given, **named):
            done, label = draw(*given, **named), given[-1 if is_text else 0]
            if draw.__name__ != "begin_combo" or not done:  # an open one has its list as the last item
                low, high = imgui.get_item_rect_min(), imgui.get_item_rect_max()
                window, kind = imgui.internal.get_current_window(), self.texts if is_text else self.items
                kind[label, window.name] = (low.x, low.y, high.x, high.y), window.inner_clip_rect
            return done

        return drawn

    def frame(self, count=2):
        for _ in range(count):
            self.items.clear()
            self.texts.clear()
            self.hand.frame()

    def keys(self, *names):
        self.hand.inputs = commands.Inputs(pressed=tuple(commands.Press(name) for name in names))

    def stand(self, pose, count=3):
        self.device.pose = pose
        self.frame(count)

    def at(self, label):
        """The middle of what has that label, of the part of the window that was drawn last."""
        found = [rect for (known, _), (rect, _) in self.items.items() if known == label]
        assert found, (label, [known for known, _ in self.items])
        left, top, right, bottom = found[-1]
        return (left + right) / 2, (top + bottom) / 2

    def says(self, text):
        return any(label == text for label, _ in self.texts)

    def click(self, label, times=1):
        self.io.add_mouse_pos_event(*self.at(label))
        self.frame(1)
        for down in (True, False) * times:
            self.io.add_mouse_button_event(0, down)
            self.frame(1)
        self.frame(2)

    def drag(self, label, way):
        x, y = self.at(label)
        self.io.add_mouse_pos_event(x, y)
        self.frame(1)
        self.io.add_mouse_button_event(0, True)
        self.frame(1)
        for n in range(1, 11):
            self.io.add_mouse_pos_event(x + way * n / 10, y)
            self.frame(1)
        self.io.add_mouse_button_event(0, False)
        self.frame(2)

    def type(self, text):
        self.io.add_input_characters_utf8(text)
        self.frame(2)

    def rows(self):
        return [(m.control, m.axes or m.buttons) for m in self.page.mapping.moves]


@pytest.fixture
def table(desk, monkeypatch, hand_at, tmp_path):
    return Table(desk, monkeypatch, hand_at, tmp_path / "settings")


STATES = {
    "nothing chosen": lambda page: None,
    "a plane": lambda page: setattr(page, "row", ("move", 0)),
    "a line": lambda page: setattr(page, "row", ("move", 2)),
    "a press": lambda page: setattr(page, "row", ("press", 0)),
    "learning": lambda page: setattr(page, "learning", Learning("line", "primary.gain_balance")),
    "a sentence": lambda page: setattr(page, "message", "Button 32 has to do store_cue and more. " * 2),
}


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("kind", ["gamepad", "joysticks", ""])
def test_nothing_on_the_page_is_cut_or_lies_over_something_else(desk, monkeypatch, hand_at, size, kind):
    table = Table(desk, monkeypatch, hand_at, None, size=size, kind=kind)
    before = desk.reel, table.page.shelf.unkept
    assert kind or table.says("No gamepad and no joystick is there.")
    for put in STATES.values():
        table.page.row = table.page.learning = None
        put(table.page)
        table.frame(3)
        _check(table.items | table.texts, size)
    assert (desk.reel, table.page.shelf.unkept) == before


def _check(items, size):
    page = {key: found for key, found in items.items() if key[1].startswith("joysticks") and key[0]}
    assert len(page) > 12
    for (label, window), ((left, top, right, bottom), clip) in page.items():
        assert 0 <= left < right <= size[0], label
        assert clip.min.x - 1 <= left, label
        assert right <= clip.max.x + 1, label
        if "rows" not in window:  # which scrolls
            assert clip.min.y - 1 <= top < bottom <= clip.max.y + 1, label
    placed = [rect for (_, window), (rect, _) in page.items() if "rows" not in window]
    for n, a in enumerate(placed):
        for b in placed[:n]:
            assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]


def test_the_page_opens_by_its_key_and_its_button_and_closes_by_both(table):
    page = table.page
    assert page.is_open
    page.learning = Learning("press", "play")
    table.keys("f2")
    table.frame()
    assert (page.is_open, page.learning) == (False, None)
    table.click("more")
    table.click("joysticks")
    assert page.is_open


def test_a_balance_is_sought_by_typing_learned_and_moves_at_once(table):
    desk, before = table.desk, table.desk.reel
    table.click("##add control")
    table.type("gam bal")
    assert "primary gain balance##primary.gain_balance" not in [label for label, _ in table.items]
    table.click("primary gamma balance##primary.gamma_balance")
    assert table.page.learning.asks == "primary gamma balance: push a joystick across, to the right."
    table.stand(pad({2: 0.9}))
    assert "now push it up" in table.page.learning.asks
    table.stand(pad({2: 0.9, 3: -0.9}))
    assert table.page.learning is None
    assert ("primary.gamma_balance", (2, 3)) in table.rows()
    assert ("primary.gain_balance", (2, 3)) not in table.rows()
    assert table.page.message == "Right stick no longer moves primary.gain_balance."
    table.stand(pad(), 3 + LET_GO // EVERY)
    assert desk.reel is before
    table.stand(pad({2: 0.9}), 5)
    _, green, blue = desk.own("primary.gamma_balance")
    assert blue > 1 > green  # toward blue
    assert desk.own("primary.gain_balance") == (1.0, 1.0, 1.0)


def test_an_action_is_given_to_a_button_and_one_with_another_task_is_refused(table):
    table.click("##add action")
    table.type("on, faster")  # of its sentence
    table.click("shuttle on##shuttle_on")
    assert "shuttle on: press the button" in table.page.learning.asks
    table.stand(pad(down=[4]))  # the fine button
    said = "Button 4 has to do shuttle_on and something else; choose one."
    assert table.says(said)
    assert table.page.mapping == stick_map("gamepad")
    table.stand(pad())
    table.click("##add action")
    table.click("step on##step_on")
    table.stand(pad(down=[9]))
    assert table.page.mapping.presses[-1] == Press(button=9, action="step_on")
    table.stand(pad(), 3 + LET_GO // EVERY)
    table.stand(pad(down=[9]))
    assert table.desk.frame == 11


def test_a_row_is_turned_round_given_amounts_a_layer_another_control_and_taken_out(table):
    page = table.page
    table.click("##('move', 3)")
    assert page.row == ("move", 3)
    table.click("turn round##1")
    assert page.mapping.moves[3].amounts == (0.2, 0.2)
    table.drag("##0", 40)
    assert page.mapping.moves[3].amounts[0] > 0.21
    table.click("undo")
    assert page.mapping.moves[3].amounts == (0.2, 0.2)
    table.click("##('move', 3)")
    table.click("by travel")
    assert page.mapping.moves[3].by == "travel"
    table.click("learn##held")
    table.stand(pad(down=[10]))
    assert page.mapping.moves[3].held == 10
    table.stand(pad())
    table.click("none##held")
    assert page.mapping.moves[3].held is None
    table.click("##control")
    table.click("primary lift balance##primary.lift_balance")
    assert page.mapping.moves[3].control == "primary.lift_balance"
    table.click("##control")
    table.type("exposure")
    table.click("exposure stops##exposure.stops")
    assert "exposure stops: move a joystick" in page.learning.asks
    table.click("leave it as it was")
    table.click("remove")
    assert len(page.mapping.moves) == len(stick_map("gamepad").moves) - 1
    while page.shelf.can_undo("gamepad"):
        table.click("undo")
    assert page.mapping == stick_map("gamepad")


def test_a_press_is_given_another_action_and_taken_out(table):
    page = table.page
    page.row = ("press", 1)
    table.frame()
    table.click("##action")
    table.type("last frame")
    table.click("last frame##last_frame")
    assert (page.mapping.presses[1].button, page.mapping.presses[1].action) == (2, "last_frame")
    table.stand(pad(down=[2]))
    assert table.desk.frame == 39
    table.click("remove")
    assert 2 not in [press.button for press in page.mapping.presses]


def test_dead_zone_sensitivity_and_the_fine_button_are_set(table):
    page = table.page
    table.drag("##dead_zone", 30)
    table.drag("##sensitivity", 60)
    assert page.mapping.dead_zone > 0.16
    assert page.mapping.sensitivity > 1.1
    table.click("learn##fine")
    table.stand(pad(down=[9]))
    assert page.mapping.fine == 9
    table.click("none##fine")
    assert page.mapping.fine is None


def test_a_mapping_is_kept_under_a_typed_name_chosen_and_left_for_the_preset(table, tmp_path):
    page = table.page
    table.drag("##sensitivity", 60)
    quick = page.mapping.sensitivity
    assert table.says("changed, not kept")
    table.click("##name", times=2)
    for key in (imgui.Key.mod_ctrl, imgui.Key.a):
        table.io.add_key_event(key, True)
    table.frame(1)
    for key in (imgui.Key.a, imgui.Key.mod_ctrl):
        table.io.add_key_event(key, False)
    table.type("night shift")
    table.click("keep this mapping")
    assert (page.message, page.shelf.unkept) == ("", [])
    assert Shelf(tmp_path / "settings").used("gamepad").mapping.sensitivity == quick
    table.click("back to the preset")
    assert page.mapping == stick_map("gamepad")
    table.click("##mapping")
    table.click("night shift")
    assert page.mapping.sensitivity == quick


def test_a_control_that_the_chain_lacks_stays_in_the_mapping_and_in_the_list(table):
    table.page.change(lambda m: with_move(m, Move(control="sky.gain", axes=(1,), amounts=(0.1,), held=8)))
    last = len(table.page.mapping.moves) - 1
    table.page.row = ("move", last)
    table.frame()
    table.click("turn round##0")
    assert table.page.mapping.moves[last].control == "sky.gain"
    table.click("##add control")
    assert "sky gain##sky.gain" in [label for label, _ in table.items]


def test_closing_with_a_mapping_that_is_not_kept_asks_and_keeps_it(table, tmp_path):
    table.page.shelf.change("gamepad", StickMap(device="gamepad", fine=1))
    table.hand.inputs = commands.Inputs(pressed=(commands.Press("q", True),))
    table.frame(3)
    assert (table.panels.asks_to_quit, table.panels.is_over) == (True, False)
    table.click("save and close")
    assert table.panels.is_over
    assert Shelf(tmp_path / "settings").used("gamepad").mapping.fine == 1
