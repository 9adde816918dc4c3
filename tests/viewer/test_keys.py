"""Keys changed by a person: they do what they are given, say so, come back, and are there the next time."""

import json

import pytest

from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.keys import OWN_FILE, KeyBook, Press, default_keys, own_keys, press_of


@pytest.mark.parametrize(
    ("label", "press"),
    [
        ("Return", Press("enter")),
        ("Page Up", Press("page up")),
        (",", Press(",")),
        ("F12", Press("f12")),
        ("Ctrl +", Press("+", is_control=True)),
        ("Shift Left", Press("left", is_shift=True)),
        ("Ctrl Shift M", Press("m", is_control=True, is_shift=True)),
    ],
)
def test_keys_are_called_as_people_call_them(label, press):
    assert press_of(label) == press
    assert press.label == label


@pytest.mark.parametrize("label", ["", "Ctrl ", "Shift Ctrl M", "ctrl m", "m", "Tab", "Escape", "Ctrl Enter"])
def test_what_is_no_key_is_refused_in_one_sentence(label):
    with pytest.raises(
        BadInput, match=r"is no key that a command can have; give one such as Ctrl Shift M\.$"
    ):
        press_of(label)


def test_a_key_that_another_command_has_is_changed_round_with_it():
    keys = KeyBook()
    assert keys.give("play", Press("insert")) is None
    assert (keys.label("play"), keys.name_of(Press("insert")), keys.name_of(Press("space"))) == (
        "Insert",
        "play",
        None,
    )
    assert keys.give("mark", Press("f")) == "flag"
    assert (keys.label("mark"), keys.label("flag")) == ("F", "M")
    assert [keys.name_of(Press(name)) for name in "mf"] == ["flag", "mark"]
    assert keys.back("flag") == "mark"
    assert not keys.is_own("mark")
    keys.back()
    assert {name: keys.label(name) for name in default_keys()} == dict(default_keys())


def test_tab_and_escape_stay_what_they_are():
    with pytest.raises(BadInput, match="gives the keyboard to the panels and back"):
        KeyBook().give("play", Press("tab", is_control=True))


def test_own_keys_are_written_at_once_and_read_the_next_time(tmp_path):
    folder = tmp_path / "settings"
    keys, said = own_keys(folder)
    keys.give("mark", Press("m", is_shift=True))
    again, said_again = own_keys(folder)
    assert (said, said_again, again.label("mark"), again.label("flag")) == ("", "", "Shift M", "F")
    again.back("mark")
    assert json.loads((folder / OWN_FILE).read_text()) == {"record": "keys/1"}


def test_a_key_of_a_command_that_came_later_goes_to_whom_the_person_gave_it(tmp_path):
    (tmp_path / OWN_FILE).write_text('{"record": "keys/1", "keys": {"mark": "Space", "gone": "Ctrl L"}}')
    keys, said = own_keys(tmp_path)
    assert (said, keys.name_of(Press("space")), keys.label("play")) == ("", "mark", "")
    assert keys.name_of(Press("l", is_control=True)) is None


@pytest.mark.parametrize(
    "text", ["{", '{"keys": {"mark": "Hyper M"}}', '{"keys": 7}', '{"keys": {"mark": "Tab"}}']
)
def test_a_file_of_keys_that_is_none_is_told_and_the_desk_has_its_own(tmp_path, text):
    (tmp_path / OWN_FILE).write_text(text)
    keys, said = own_keys(tmp_path)
    assert said.endswith("; the keys are those that the desk comes with.")
    assert ". " not in said
    assert keys.label("mark") == "M"
    keys.give("mark", Press("insert"))
    assert (tmp_path / OWN_FILE).read_text() == text


def line(items, hand, name):
    left, top, _, bottom = next(at for words, at in items.items() if words.endswith(f"##{name}"))
    return left + 20, (top + bottom) / 2


def test_on_the_help_page_a_line_is_clicked_and_the_next_key_is_its_key(hand, items):
    hand.keys("f1")
    hand.click(*line(items, hand, "mark"))
    hand.keys("z", is_control=True)  # which undoes nothing now
    assert hand.panels.keys.label("mark") == "Ctrl Z"
    assert hand.panels.key_page.message == "That was the key of undo, which has M now."
    hand.keys("f1")
    assert not hand.panels.helps
    hand.desk.go_to(10, hand.now)
    hand.keys("z", is_control=True)
    assert [mark.frame for mark in hand.desk.reel.marks] == [10]
    hand.keys("m")
    assert hand.desk.reel.marks == ()


def test_escape_leaves_a_key_as_it_is_and_a_held_one_is_not_taken(hand, items):
    hand.keys("f1")
    hand.click(*line(items, hand, "play"))
    hand.panels.key_page.takes(Press("enter", is_repeat=True), hand.panels.keys)
    assert hand.panels.key_page.changing == "play"
    hand.keys("escape")
    assert (hand.panels.key_page.changing, hand.panels.keys.are_own) == ("", False)


def test_the_help_page_is_searched_by_what_is_typed_as_soon_as_it_opens(hand, items):
    hand.keys("f1")
    hand.frame(2)
    items.clear()
    hand.type("cue after")
    hand.frame()
    items.clear()
    hand.frame()
    assert not [words for words in items if words.endswith("##play")]


@pytest.mark.parametrize("size", [(1024, 640), (1280, 800)])
def test_the_help_page_lies_within_the_window_whatever_its_size(desk, hand_at, items, size):
    hand = hand_at(desk, *size, font=True)
    hand.keys("f1")
    hand.frame(3)
    left, top, right, _ = items["all keys as they came"]
    assert min(left, top) > 0
    assert right < size[0]
    longest = max(
        (at for words, at in items.items() if "##" in words and "search" not in words), key=lambda at: at[2]
    )
    assert longest[2] < size[0]
