"""The questions of the desk, answered by the keyboard alone: nothing is lost, whatever is pressed."""

import msgspec
import pytest
from imgui_bundle import imgui

from lamphouse.graph.edits.differences import Difference
from lamphouse.graph.reel import store
from lamphouse.graph.reel.store import load
from lamphouse.viewer.models.recovery import LeftOver
from lamphouse.viewer.models.saving import look
from lamphouse.viewer.panels.questions import open_question

pytestmark = pytest.mark.slow  # each plays many turns of the whole desk


@pytest.fixture
def contested(hand):
    """A hand at a desk whose file another program changed meanwhile; work of its own is not saved."""
    desk = hand.desk
    hand.frame(40)
    desk.set({"primary.gain": 1.5})
    store.save(desk.reel_file, msgspec.structs.replace(load(desk.reel_file), head_mark=7))
    hand.frame(70)  # a second and more of the desk's clock
    hand.frame(3)
    return hand


def is_open():
    return imgui.is_popup_open("", imgui.PopupFlags_.any_popup)


def test_what_changed_under_the_desk_is_asked_at_once_and_return_gives_the_first_answer(contested):
    desk = contested.desk
    assert is_open()
    mine = desk.reel
    contested.click(contested.strip_x(20), contested.strip_top + 40)  # the question has to be answered first
    assert (desk.reel, desk.frame) == (mine, 0)
    contested.key("enter")
    assert desk.standing.contest is None
    assert load(desk.reel_file) == mine
    assert load(desk.reel_file.with_name("cat.1.reel")).head_mark == 7
    contested.frame(3)
    assert not is_open()


def test_escape_goes_on_working_and_nothing_was_written(contested):
    desk, mine = contested.desk, contested.desk.reel
    contested.key("escape")
    contested.frame(3)
    assert (is_open(), desk.standing.is_put_off, desk.reel) == (False, True, mine)
    assert load(desk.reel_file).head_mark == 7
    assert not desk.reel_file.with_name("cat.1.reel").exists()


@pytest.mark.parametrize("key", ["tab", "right_arrow"])
def test_tab_and_arrows_go_to_the_other_answers(contested, key):
    desk, mine = contested.desk, contested.desk.reel
    labels = [answer.label for answer in open_question(desk, contested.panels).answers]
    assert labels == ["keep mine", "save mine as", "take theirs", "go on"]
    contested.key(key)
    contested.key(key)
    contested.key("enter")
    assert (desk.reel.head_mark, desk.is_saved) == (7, True)
    contested.frame(3)
    desk.undo()
    assert desk.reel == mine


def test_what_is_typed_is_the_name_of_the_other_file(contested, items):
    desk = contested.desk
    contested.frame(2)
    left, top, right, bottom = items["##as"]
    contested.click((left + right) / 2, (top + bottom) / 2)
    contested.io.add_key_event(imgui.Key.mod_ctrl, True)
    contested.key("a")
    contested.io.add_key_event(imgui.Key.mod_ctrl, False)
    contested.type("other")
    left, top, right, bottom = items["save mine as"]
    contested.click((left + right) / 2, (top + bottom) / 2)
    assert desk.reel_file.name == "other.reel"
    desk.recovery.close()


def test_where_nothing_of_mine_is_lost_theirs_is_the_first_answer(hand):
    desk = hand.desk
    store.save(desk.reel_file, msgspec.structs.replace(desk.reel, head_mark=7))
    look(desk, hand.now + 2 * 10**9)
    assert open_question(desk, hand.panels).answers[0].label == "take theirs"


def test_the_keys_of_the_desk_are_its_own_again_after_a_question(hand):
    keyboard = imgui.ConfigFlags_.nav_enable_keyboard
    before = hand.io.config_flags
    hand.panels.asks_to_quit = True
    hand.frame(3)
    assert hand.io.config_flags & keyboard
    hand.key("escape")
    hand.frame(2)
    assert (hand.panels.asks_to_quit, hand.io.config_flags) == (False, before)


def test_every_question_has_one_answer_for_escape(hand):
    desk, panels = hand.desk, hand.panels
    panels.asks_to_quit = True
    found = [open_question(desk, panels)]
    desk.standing.asks_who_works = True
    for desk.standing.is_free in (False, True):
        found.append(open_question(desk, panels))
    panels.left_over = LeftOver(desk.reel, "today")
    found.append(open_question(desk, panels))
    assert len({question.title for question in found}) == 4
    for question in found:
        assert sum(answer.is_safe for answer in question.answers) == 1


def test_what_an_earlier_run_left_says_when_and_what_and_return_recovers_it(hand):
    desk, panels = hand.desk, hand.panels
    left = msgspec.structs.replace(desk.reel, head_mark=3)
    rows = tuple(Difference(n, f"cue {n}", "1", "2") for n in range(5000))
    panels.left_over = LeftOver(left, "2026-03-01 at 10:31:00", rows)
    question = open_question(desk, panels)
    assert question.text == "What it had was kept on 2026-03-01 at 10:31:00, in cat.reel.recovery."
    hand.frame(3)
    hand.key("enter")
    assert desk.reel == left
    desk.undo()
    assert desk.is_saved


def test_a_question_that_is_settled_by_itself_is_gone_and_the_mouse_is_free(contested):
    desk = contested.desk
    contested.frame(2)
    assert is_open()
    store.save(desk.reel_file, desk.saved)
    contested.frame(70)
    contested.frame(3)
    assert (desk.standing.contest, is_open()) == (None, False)
    contested.click(contested.strip_x(20.5), contested.strip_top + 50)
    assert desk.frame == 20
