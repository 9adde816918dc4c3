"""Keys among clicks and letters: what is typed into a field sets off nothing, however quickly it comes."""

import pytest
from imgui_bundle import imgui

from lamphouse.viewer.glsl.opengl import glfw
from lamphouse.viewer.models.commands.command import Inputs
from lamphouse.viewer.models.commands.table import COMMANDS, asked
from lamphouse.viewer.models.keys import Press, default_keys, press_of
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.window.keyboard import Keyboard, key_name


class Burst:
    """The keys of a window, handed to ImGui and to the desk as the window hands them over."""

    def __init__(self, hand):
        self.hand, self.keyboard = hand, Keyboard()
        begin = hand.begin

        def begun():
            given = begin()
            pressed, let_go = self.keyboard.taken()
            return Inputs(pressed, let_go, given.is_typing)

        hand.begin = begun

    def type(self, text):
        for letter in text:
            key = getattr(imgui.Key, letter if letter.isalpha() else f"_{letter}")
            self._key(key, letter, glfw.PRESS)
            self.hand.io.add_input_character(ord(letter))
            self._key(key, letter, glfw.RELEASE)

    def press(self, key, name, *, is_control=False):
        if is_control:
            self.hand.io.add_key_event(imgui.Key.mod_ctrl, True)
        self._key(key, name, glfw.PRESS, is_control=is_control)
        self._key(key, name, glfw.RELEASE, is_control=is_control)
        if is_control:
            self.hand.io.add_key_event(imgui.Key.mod_ctrl, False)

    def click(self, x, y):
        self.hand.io.add_mouse_pos_event(x, y)
        for is_down in (True, False):
            self.hand.io.add_mouse_button_event(0, is_down)

    def _key(self, key, name, action, *, is_control=False):
        self.hand.io.add_key_event(key, action != glfw.RELEASE)
        self.keyboard.add(name, action, is_control=is_control)

    def turns(self):
        count = 0
        while self.keyboard.is_behind or count < 3:
            self.hand.frame()
            count += 1
        return count


@pytest.fixture
def burst(hand):
    return Burst(hand)


def field(hand):
    return 60, hand.size[1] - 140  # of the place


def test_a_place_typed_all_at_once_goes_there_and_sets_off_no_command(burst):
    hand, desk = burst.hand, burst.hand.desk
    burst.click(*field(hand))
    burst.type("mr641")  # all of it in one turn, as where the machine is under load
    burst.turns()
    assert (desk.reel.marks, desk.transport.speed, desk.frame) == ((), 0, 0)
    burst.press(imgui.Key.escape, "escape")
    burst.turns()
    burst.click(*field(hand))
    burst.type("31")
    burst.press(imgui.Key.enter, "enter")
    burst.type("m")  # behind Return the desk has the keyboard again
    burst.turns()
    hand.frame(3)
    assert (desk.frame, [mark.frame for mark in desk.reel.marks]) == (31, [31])
    assert [cue.frame for cue in desk.reel.cues] == [4, 24]  # Return was the field's


def test_in_a_field_saving_and_closing_work_and_undo_is_the_field_s(burst, reel_file):
    hand, desk = burst.hand, burst.hand.desk
    desk.go_to(10, hand.now)
    hand.frame(2)
    desk.set({"primary.gain": 1.6})
    burst.click(*field(hand))
    burst.type("12")
    burst.press(imgui.Key.z, "z", is_control=True)
    burst.turns()
    assert desk.own("primary.gain") == 1.6
    burst.press(imgui.Key.s, "s", is_control=True)
    burst.turns()
    assert desk.is_saved
    burst.press(imgui.Key.q, "q", is_control=True)
    burst.turns()
    assert hand.panels.is_over


def test_keys_in_a_row_are_taken_in_their_order_and_none_is_lost(burst):
    desk = burst.hand.desk
    burst.press(imgui.Key.end, "end")
    for _ in range(7):
        burst.press(imgui.Key.left_arrow, "left")
    burst.type("mf")
    burst.turns()
    assert [(mark.frame, mark.kind) for mark in desk.reel.marks] == [(32, "check"), (32, "place")]


@pytest.mark.parametrize(
    ("key", "letter", "name"),
    [
        (glfw.KEY_Z, "z", "z"),
        (glfw.KEY_Z, "Y", "y"),  # a German layout has them changed round
        (glfw.KEY_Z, "я", "z"),  # a Cyrillic one has no Latin letters
        (glfw.KEY_S, "ς", "s"),
        (glfw.KEY_PERIOD, "ю", "."),
        (glfw.KEY_Q, None, "q"),
        (glfw.KEY_KP_ENTER, None, "enter"),
        (glfw.KEY_TAB, None, "tab"),
        (glfw.KEY_ESCAPE, None, "escape"),
        (glfw.KEY_F12, None, "f12"),
        (glfw.KEY_EQUAL, "=", "+"),  # which is written with Shift on an English layout
        (glfw.KEY_LEFT_SHIFT, None, ""),
    ],
)
def test_a_key_is_called_by_the_layout_and_by_its_place_where_that_has_no_latin_letter(key, letter, name):
    assert key_name(key, letter) == name


def test_every_command_has_a_key_of_its_own_in_the_preset_and_a_sentence():
    assert set(default_keys()) == {command.name for command in COMMANDS}
    panels = Panels()
    for command in COMMANDS:
        assert command.sentence.endswith(".")
        press = press_of(default_keys()[command.name])
        assert panels.keys.name_of(press) == command.name
        assert list(asked(Inputs((press,)), panels)) == [command]
        assert bool(list(asked(Inputs((press,), is_typing=True), panels))) == command.works_in_field


def test_a_key_that_is_held_goes_on_doing_only_what_may_be_repeated():
    held = tuple(Press(name, is_repeat=True) for name in ("right", "m", "space", "page down"))
    assert [command.name for command in asked(Inputs(held), Panels())] == ["step_on", "next_cue"]
