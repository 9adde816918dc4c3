"""Every action has a key, a line in the help and a place that can be clicked: held for the whole table."""

import re
from pathlib import Path

import pytest
from imgui_bundle import imgui

from lamphouse import viewer
from lamphouse.viewer.models.commands.table import BY_NAME, COMMANDS, SUBJECTS, run
from lamphouse.viewer.models.keys import default_keys, press_of
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.preferences import CAUTION

STATING = ("keys.py", "help.py")  # where keys are read, and where those are told that nobody can change


@pytest.fixture
def listed(hand, items, monkeypatch):
    """A hand before the open list of commands, in which every subject is open; and what is drawn in it."""
    drawn, pressed = [], []

    def menu_item(label, shortcut, *rest):
        drawn.append((label.partition("##")[2], shortcut))
        return label.endswith(tuple(f"##{name}" for name in pressed)), False

    monkeypatch.setattr(imgui, "begin_menu", lambda label: True)
    monkeypatch.setattr(imgui, "end_menu", lambda: None)
    monkeypatch.setattr(imgui, "menu_item", menu_item)
    hand.frame()
    left, top, right, bottom = items["commands"]
    hand.click((left + right) / 2, (top + bottom) / 2)
    hand.frame()
    return hand, drawn, pressed


def test_every_command_has_a_key_a_line_in_the_help_and_a_place_in_the_list(listed, items):
    hand, drawn, _ = listed
    assert dict(drawn) == dict(default_keys())
    hand.keys("f1")
    hand.frame(2)
    lines = {words.partition("##")[2]: words.partition("##")[0] for words in items if "##" in words}
    assert {name: lines[name] for name in BY_NAME} == dict(default_keys())
    assert len({press_of(label) for label in default_keys().values()}) == len(COMMANDS)
    assert [command.name for _, commands in SUBJECTS for command in commands] == list(BY_NAME)


def test_a_command_is_done_from_the_list(listed):
    hand, _, pressed = listed
    pressed.append("mark")
    hand.frame()
    pressed.clear()
    assert [mark.kind for mark in hand.desk.reel.marks] == ["place"]


def test_the_reaction_is_typed_beside_the_commands_of_cues_and_kept(listed, items):
    hand, _, _ = listed
    left, top, right, bottom = items["##reaction"]
    hand.click((left + right) / 2, (top + bottom) / 2)
    hand.type("4 frames")
    hand.key("enter")
    assert hand.panels.preferred.reaction.text == "4 frames"
    hand.click((left + right) / 2, (top + bottom) / 2)
    hand.type("soon")
    hand.key("enter")
    assert hand.desk.message.startswith("soon is no reaction allowance")
    assert hand.panels.preferred.reaction.text == "4 frames"


@pytest.mark.parametrize("name", ["shuttle_on", "shuttle_back", "compare"])
def test_before_the_first_winding_or_flicking_a_word_of_caution_is_said_once(desk, name):
    panels = Panels()
    run(BY_NAME["play"], desk, panels, 10**9)
    assert desk.message == ""
    run(BY_NAME[name], desk, panels, 10**9)
    assert desk.message == CAUTION
    run(BY_NAME["stop"], desk, panels, 10**9)
    for again in ("shuttle_on", "compare"):
        run(BY_NAME[again], desk, panels, 10**9)
        assert desk.message == ""
    assert CAUTION.count(".") == 1


def test_no_sentence_of_the_desk_names_a_key_that_a_person_may_have_changed():
    named = re.compile(r".*\((F\d+|Ctrl (Shift )?\S+)\)|.*\b(by|press) [A-Z]\b[^a-z]|.*\bCtrl [A-Z]\b")
    paths = [path for path in Path(viewer.__file__).parent.rglob("*.py") if path.name not in STATING]
    lines = [(path.name, line) for path in paths for line in path.read_text().splitlines()]
    assert len(paths) > 100
    assert [(name, line) for name, line in lines if '"' in line and named.match(line)] == []
