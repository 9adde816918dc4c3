"""Nothing needs a mouse: Tab gives the keyboard to the panels, Escape gives it back to the film."""

import pytest
from imgui_bundle import imgui

from lamphouse.viewer.panels.transport import BUTTONS

pytestmark = pytest.mark.slow  # each plays many turns of the whole desk

TURNS = 120  # presses of Tab after which the ring has been everywhere
DRAWN = (
    "begin_combo",
    "button",
    "checkbox",
    "drag_int",
    "input_text",
    "input_text_with_hint",
    "radio_button",
    "selectable",
    "slider_float",
    "small_button",
)


class Ring:
    """The item that the ring is about, by its words."""

    def __init__(self, hand, monkeypatch):
        self.hand, self.at = hand, ""
        for name in DRAWN:
            monkeypatch.setattr(imgui, name, self._noted(getattr(imgui, name)))

    def _noted(self, draw):
        def drawn(label, *rest, **named):
            answer = draw(label, *rest, **named)
            if imgui.is_item_focused() and imgui.get_io().nav_visible:
                self.at = label
            return answer

        return drawn

    def key(self, name):
        self.at = ""
        self.hand.key(name)
        self.hand.frame()
        return self.at

    def reach(self, label, way="tab"):
        for _ in range(TURNS):
            if self.at == label:
                return
            self.key(way)
        raise AssertionError(f"{label} was not reached")


@pytest.fixture
def ring(hand, monkeypatch):
    return Ring(hand, monkeypatch)


def press(ring, name, key):
    """Press a key that ImGui and the desk both hear of."""
    ring.hand.io.add_key_event(getattr(imgui.Key, key), True)
    ring.hand.keys(name)
    ring.hand.io.add_key_event(getattr(imgui.Key, key), False)
    ring.hand.frame()


def test_every_button_of_the_transport_is_reached_and_pressed_by_keys_alone(ring, monkeypatch):
    done = []
    monkeypatch.setattr(
        "lamphouse.viewer.panels.buttons.run", lambda command, *rest: done.append(command.name)
    )
    for label, _ in BUTTONS:
        ring.reach(label)
        press(ring, "space", "space")
    assert done == [name for _, name in BUTTONS]


def test_what_the_ring_moves_by_is_not_the_film_s_until_escape(ring):
    hand, desk = ring.hand, ring.hand.desk
    desk.go_to(10, hand.now)
    hand.frame(2)
    ring.key("tab")
    for name, key in (
        ("right", "right_arrow"),
        ("left", "left_arrow"),
        ("down", "down_arrow"),
        ("up", "up_arrow"),
    ):
        press(ring, name, key)
    assert (desk.frame, desk.transport.speed) == (10, 0)
    hand.keys("m")  # what does not move the ring is the desk's
    assert [mark.frame for mark in desk.reel.marks] == [10]
    press(ring, "escape", "escape")
    assert not hand.io.nav_visible
    press(ring, "right", "right_arrow")
    assert desk.frame == 11


def test_a_click_gives_the_keyboard_back_too(ring):
    ring.key("tab")
    assert ring.hand.panels.focus.is_given
    ring.hand.click(300, 200)
    assert not ring.hand.panels.focus.is_given


def test_a_field_is_typed_into_and_escape_ends_the_field_before_it_leaves_the_panels(ring):
    hand, desk = ring.hand, ring.hand.desk
    ring.key("tab")
    ring.reach("##place")
    assert hand.io.want_text_input  # Tab goes right into a field
    press(ring, "escape", "escape")
    assert (hand.io.want_text_input, hand.panels.focus.is_given) == (False, True)
    press(ring, "enter", "enter")
    hand.type("31")
    press(ring, "enter", "enter")
    hand.frame(2)
    assert desk.frame == 31
    assert [cue.frame for cue in desk.reel.cues] == [4, 24]  # Return was the field's


def test_a_panel_that_opens_is_gone_through_pressed_and_left_by_keys(ring):
    hand, desk = ring.hand, ring.hand.desk
    desk.go_to(30, hand.now)
    hand.frame(2)
    ring.key("tab")
    ring.reach("marks")
    press(ring, "space", "space")
    ring.reach("mark here", "right_arrow")
    press(ring, "enter", "enter")
    assert [(mark.frame, mark.kind) for mark in desk.reel.marks] == [(30, "place")]
    press(ring, "escape", "escape")
    assert (hand.panels.focus.is_given, ring.key("tab")) == (True, "more")  # where it was opened from
    press(ring, "escape", "escape")
    assert not hand.panels.focus.is_given


def test_the_help_page_is_searched_and_a_key_changed_without_a_mouse(ring):
    hand = ring.hand
    press(ring, "f1", "f1")
    hand.frame(2)
    hand.type("cue after")
    hand.frame()
    hand.panels.key_page.searched = "next cue"
    ring.key("escape")
    ring.reach("Page Down##next_cue", "down_arrow")
    press(ring, "enter", "enter")
    assert hand.panels.key_page.changing == "next_cue"
    hand.keys("n")
    assert hand.panels.keys.label("next_cue") == "N"
    press(ring, "escape", "escape")
    assert (hand.panels.helps, hand.panels.focus.is_given) == (False, False)


def test_a_question_is_answered_by_keys_alone(ring):
    hand = ring.hand
    hand.desk.set({"primary.gain": 2.0})
    hand.keys("q", is_control=True)
    hand.frame(3)
    ring.reach("go on working", "right_arrow")
    press(ring, "enter", "enter")
    hand.frame(2)
    assert (hand.panels.asks_to_quit, hand.panels.is_over) == (False, False)
    hand.keys("m")  # and the film has the keyboard again
    assert len(hand.desk.reel.marks) == 1


def test_the_page_of_the_joysticks_is_gone_through_and_closed_by_keys(ring):
    hand = ring.hand
    hand.keys("f2")
    hand.frame(2)
    ring.reach("none##fine")
    for name in ("down_arrow", "down_arrow", "enter"):  # on to the list, and into it
        ring.key(name)
    ring.reach("##('move', 1)", "down_arrow")
    press(ring, "enter", "enter")
    assert hand.panels.sticks.row == ("move", 1)
    press(ring, "escape", "escape")
    assert (hand.panels.sticks.is_open, hand.panels.focus.is_given) == (False, False)
