"""What the survey proposes at the desk: listed, previewed, taken and refused. The proposals are invented."""

import msgspec
import numpy as np
import pytest
from imgui_bundle import imgui

from lamphouse.graph.edits.cues import cue_at
from lamphouse.graph.survey.changes.evidence import Evidence
from lamphouse.graph.survey.changes.leaders import Leaders
from lamphouse.graph.survey.proposal import KINDS, Proposal
from lamphouse.viewer.models.comparison import OTHER, UNTAKEN
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Strip
from lamphouse.viewer.models.proposals import MOST, chosen, listed
from lamphouse.viewer.models.surveyed import Surveyed, SurveyFound, measured_text
from lamphouse.viewer.models.troubles import SHOWN
from lamphouse.viewer.panels import proposal_shapes, proposed, strip_proposals
from lamphouse.viewer.panels import proposals as page
from lamphouse.viewer.panels.strip_cues import FLAG
from lamphouse.viewer.panels.strip_ruler import Ruler
from lamphouse.viewer.turn.decide import KEPT_AT_REST

SOFT = Proposal(
    kind="faults", what="soft shot", frame=4, frames=8, sure=0.4, why="Soft.", place=(0.25, 0.5, 0.5, 0.25)
)
CUT = Proposal(kind="cues", what="cut", frame=12, sure=0.97, why="It is another picture.")
START = Proposal(
    kind="balance", what="start", frame=12, sure=0.9, why="All agree.", settings={"primary.gain": 2.0}
)
FADE = Proposal(kind="cues", what="fade out", frame=36, frames=4, sure=0.5, why="It goes dark.")
ALL = (SOFT, CUT, START, FADE)


def answer(hand, proposals=ALL, looked_for=KINDS, **more):
    """Let the survey that is asked for find these."""
    found = SurveyFound(hand.display.asked_survey, tuple(proposals), looked_for)
    hand.display.surveyed = Surveyed(found=found, **more)
    hand.frame(3)


def rest(hand):
    """Let the time pass after which a reel is no longer being changed."""
    hand.now += KEPT_AT_REST
    hand.frame(2)


@pytest.fixture
def surveyed(hand):
    """A hand at a desk whose survey proposes four things; the list has the keyboard."""
    hand.keys("f12")
    answer(hand)
    return hand


def held(hand):
    return listed(hand.panels.proposals, hand.desk.reel)


def gain_shown(hand):
    return hand.display.drawing.settings["primary.gain"]


def middle(items, hand, label):
    """Return the middle of what was drawn with that label."""
    hand.frame(2)
    left, top, right, bottom = items[label]
    return (left + right) / 2, (top + bottom) / 2


def test_nothing_is_measured_or_asked_until_a_person_opens_the_survey(hand):
    before = hand.desk.reel
    assert hand.display.asked_survey is None
    hand.keys("f12")
    asked = hand.display.asked_survey
    assert (asked.reel, asked.margin) == (before, 1.0)
    hand.display.surveyed = Surveyed(words=measured_text(300, 1000, 100.0))
    hand.frame(2)
    assert hand.seen.surveyed == "survey 30 %, 2 min left"
    hand.keys("f12")
    assert hand.display.asked_survey is asked  # it goes on while the list is away
    hand.keys("f12", is_shift=True)
    assert hand.display.asked_survey is None
    assert hand.desk.reel is before


def test_the_chosen_proposal_is_previewed_and_the_reel_stays_as_it_is(surveyed):
    before = surveyed.desk.reel
    surveyed.keys("home", "down", "down")
    assert (chosen(surveyed.panels.proposals, before), surveyed.desk.frame) == (START, 12)
    assert gain_shown(surveyed) == 2.0
    assert surveyed.desk.reel is before
    surveyed.keys("escape")
    assert gain_shown(surveyed) == pytest.approx(1.2)
    surveyed.desk.go_to(13, surveyed.now)
    surveyed.keys("n")  # from the playhead on
    assert chosen(surveyed.panels.proposals, before) == FADE
    surveyed.keys("n", is_shift=True)
    assert chosen(surveyed.panels.proposals, before) == START


def test_what_is_previewed_is_compared_with_the_reel_as_it_is(surveyed):
    surveyed.keys("home", "down", "down")
    surveyed.desk.comparison.kind, surveyed.desk.comparison.way = UNTAKEN, OTHER
    surveyed.frame(2)
    assert surveyed.display.others[-1].settings["primary.gain"] == pytest.approx(1.2)
    assert gain_shown(surveyed) == 2.0


def test_that_nothing_is_listed_is_said_for_a_while(hand):
    hand.keys("f12")
    hand.keys("down")
    assert hand.desk.message == "Nothing is listed here."
    end = hand.now + 2 * SHOWN
    assert [hand.desk.troubles.pass_by(now) for now in (hand.now, end)] == [False, True]
    assert hand.desk.message == ""


def test_one_is_taken_as_one_step_and_the_next_is_chosen(surveyed):
    desk, before = surveyed.desk, surveyed.desk.reel
    surveyed.keys("home", "down", "down", "enter")
    assert cue_at(desk.reel, 12).settings == {"primary.gain": 2.0}
    assert held(surveyed) == (SOFT, CUT, FADE)
    assert chosen(surveyed.panels.proposals, desk.reel) == FADE
    surveyed.keys("z", is_control=True)
    assert desk.reel is before
    assert held(surveyed) == ALL


def test_one_is_refused_for_good_until_it_is_called_back(surveyed, items):
    desk, before = surveyed.desk, surveyed.desk.reel
    surveyed.keys("home", "delete")
    assert [(one.kind, one.frame) for one in desk.reel.refused] == [("faults", 4)]
    assert held(surveyed) == (CUT, START, FADE)
    surveyed.panels.proposals.sureness = "refused"
    surveyed.frame(2)
    assert [(one.what, one.frame) for one in held(surveyed)] == [("soft shot", 4)]
    assert "call back all 1" in items
    surveyed.keys("home")
    assert not surveyed.desk.is_previewing
    surveyed.keys("enter")
    assert desk.reel == before
    surveyed.keys("z", is_control=True)
    assert len(desk.reel.refused) == 1


@pytest.mark.parametrize(
    ("kind", "sureness", "left"),
    [
        (None, "all", ()),
        (None, "sure", (SOFT, FADE)),
        ("cues", "all", (SOFT, START)),
        ("cues", "unsure", (SOFT, CUT, START)),
    ],
)
@pytest.mark.parametrize("key", ["enter", "delete"])
def test_all_that_is_listed_is_taken_or_refused_in_one_step(surveyed, kind, sureness, left, key):
    desk, before = surveyed.desk, surveyed.desk.reel
    rows = surveyed.panels.proposals
    rows.kind, rows.sureness = kind, sureness
    surveyed.keys(key, is_control=True, is_shift=True)
    rows.kind, rows.sureness = None, "all"
    assert held(surveyed) == left
    assert len(desk.reel.refused) == (0 if key == "enter" else len(ALL) - len(left))
    assert desk.message.endswith("in one step, and undo takes it back.")
    desk.undo()
    assert desk.reel is before


def test_kinds_and_sureness_are_gone_through_by_keys(surveyed):
    seen = []
    for _ in range(4):
        surveyed.keys("u", is_shift=True)
        seen.append([one.what for one in held(surveyed)])
    assert seen == [["cut", "start"], ["soft shot", "fade out"], [], [one.what for one in ALL]]
    surveyed.keys("u", "u")
    assert held(surveyed) == (CUT, FADE)


def test_what_is_under_the_pointer_is_previewed_and_the_picture_comes_back(surveyed, items):
    surveyed.desk.go_to(20, surveyed.now)
    surveyed.frame(2)
    surveyed.move(*middle(items, surveyed, "##start 12"))
    surveyed.frame(2)
    assert (surveyed.desk.frame, gain_shown(surveyed)) == (12, 2.0)
    surveyed.move(300, 400)
    surveyed.frame(2)
    assert (surveyed.desk.frame, surveyed.desk.is_previewing) == (20, False)
    surveyed.click(*middle(items, surveyed, "##start 12"))
    surveyed.move(300, 400)
    surveyed.frame(2)
    assert (surveyed.desk.frame, gain_shown(surveyed)) == (12, 2.0)


def test_a_running_film_is_not_led_elsewhere_by_the_pointer(surveyed, items):
    place = middle(items, surveyed, "##start 12")
    surveyed.desk.play(surveyed.now)
    surveyed.move(*place)
    surveyed.frame(2)
    assert surveyed.desk.transport.is_moving(surveyed.now)
    assert not surveyed.desk.is_previewing


def test_a_change_by_hand_ends_the_preview_and_the_survey_is_made_anew_once_it_rests(surveyed):
    desk, first = surveyed.desk, surveyed.display.asked_survey
    surveyed.keys("home", "down", "down")
    desk.set({"primary.lift": 0.1})
    surveyed.frame(2)
    assert not desk.is_previewing
    assert surveyed.display.asked_survey is first
    rest(surveyed)
    assert surveyed.display.asked_survey.reel is desk.reel
    answer(surveyed, (FADE,))
    assert held(surveyed) == (FADE,)
    desk.undo()
    surveyed.frame(2)
    assert held(surveyed) == ALL  # at once: they are remembered


def test_the_margin_is_turned_by_keys_within_its_range_and_asked_for(surveyed):
    for _ in range(12):
        surveyed.keys(",", is_shift=True)
    assert surveyed.panels.proposals.margin == MOST
    rest(surveyed)
    assert surveyed.display.asked_survey.margin == MOST
    surveyed.keys(".", is_shift=True)
    assert surveyed.panels.proposals.margin < MOST


def test_the_margin_is_turned_by_its_slider_to_the_right_for_more_cuts(surveyed, items):
    x, y = middle(items, surveyed, "##margin")
    surveyed.drag((x, y), (x + 40, y))
    assert 1 / MOST < surveyed.panels.proposals.margin < 1


def test_proposals_on_the_strip_are_chosen_by_a_click_and_say_why(surveyed, monkeypatch):
    said = []
    monkeypatch.setattr(imgui, "set_tooltip", said.append)
    x, y = surveyed.strip_x(12.5), surveyed.strip_top + FLAG + 27  # the second row has the balances
    surveyed.move(x, y)
    surveyed.frame(2)
    assert said[-1].splitlines() == ["start (sure, 0.90)", surveyed.desk.readings(12).timecode, "All agree."]
    surveyed.click(x, y)
    assert chosen(surveyed.panels.proposals, surveyed.desk.reel) == START
    surveyed.keys("f12")
    surveyed.click(x + 40, y)
    assert surveyed.desk.frame > 12


def test_sure_and_unsure_are_drawn_apart_and_each_kind_has_a_shape_of_its_own(monkeypatch):
    drawn = []
    monkeypatch.setattr(proposal_shapes, "polygon", lambda corners, *rest: drawn.append(list(corners)))
    monkeypatch.setattr(proposal_shapes, "outline", lambda *given: None)
    colour = (1.0, 1.0, 1.0, 1.0)
    proposal_shapes.draw_proposal("cues", (50, 50), colour, 1.0, is_sure=True)
    assert len(drawn) == 2
    proposal_shapes.draw_proposal("cues", (50, 50), colour, 1.0, is_sure=False)
    assert len(drawn) == 3
    assert len(set(proposal_shapes.SHAPES.values())) == len(proposal_shapes.SHAPES)


def test_the_place_of_a_fault_is_outlined_in_the_picture_while_it_lasts(surveyed, monkeypatch):
    outlined = []
    monkeypatch.setattr(proposed, "outline", lambda corners, *rest: outlined.append(list(corners)))
    surveyed.keys("home")
    surveyed.frame()
    (left, top), _, (right, bottom), _ = outlined[-1]
    view = surveyed.panels.picture
    width = view.size[0]  # the scan's 4:3 fits in from side to side
    assert (left - view.at[0], right - left) == pytest.approx((width / 4, width / 2), abs=1)
    assert bottom - top == pytest.approx(width * 3 / 4 / 4, abs=1)
    outlined.clear()
    surveyed.desk.go_to(20, surveyed.now)
    surveyed.frame(2)
    assert outlined == []


def test_five_thousand_proposals_cost_no_more_than_what_is_seen_of_them(desk, hand_at, monkeypatch):
    scan = msgspec.structs.replace(desk.reel.scan, frames=20_000)
    hand = hand_at(Desk(desk.opened.with_reel(msgspec.structs.replace(desk.reel, scan=scan))))
    hand.keys("f12")
    answer(hand, [msgspec.structs.replace(CUT, frame=4 * n) for n in range(5000)])
    hand.keys("end")
    drawn = []
    monkeypatch.setattr(imgui, "selectable", lambda *given: drawn.append(given) or (False, False))
    hand.frame()
    assert 4 < len(drawn) < 60
    assert hand.desk.frame == 4 * 4999


def test_what_is_of_a_reel_that_is_not_there_any_more_is_not_listed(surveyed):
    asked = surveyed.display.asked_survey
    surveyed.desk.set({"primary.lift": 0.1})
    rest(surveyed)
    assert surveyed.display.asked_survey is not asked
    surveyed.display.surveyed = Surveyed(found=SurveyFound(asked, (CUT,)))
    surveyed.frame(2)
    assert held(surveyed) == ALL


def test_why_the_survey_goes_no_farther_is_said(surveyed):
    surveyed.display.surveyed = Surveyed(reason="The scan is gone; bring it back.")
    surveyed.frame(2)
    assert surveyed.desk.troubles.of("survey") == "The scan is gone; bring it back."


def evident(*cuts):
    """Return evidence of cuts, of pairs of frame and score."""
    scores = np.zeros(40, np.float32)
    for frame, score in cuts:
        scores[frame] = score
    return Evidence(scores, (), (), Leaders(0, 40))


def test_changes_of_shot_follow_the_margin_at_once_and_all_else_when_no_hand_turns_it(surveyed, items):
    answer(surveyed, evidence=evident((10, 5.0), (16, 1.5), (30, 0.8)))
    first = surveyed.display.asked_survey
    assert [one.frame for one in held(surveyed)] == [4, 10, 12, 16]
    x, y = middle(items, surveyed, "##margin")
    surveyed.move(x, y)
    surveyed.press()
    surveyed.move(x + 40, y)
    assert [one.frame for one in held(surveyed)] == [4, 10, 12, 16, 30]
    rest(surveyed)
    assert surveyed.display.asked_survey is first
    surveyed.release()
    rest(surveyed)
    assert surveyed.display.asked_survey.margin == surveyed.panels.proposals.margin < 1
    for _ in range(8):
        surveyed.keys(",", is_shift=True)
    assert [one.frame for one in held(surveyed)] == [4, 10, 12]


def test_cues_are_listed_as_soon_as_changes_of_shot_are_known(hand, monkeypatch):
    said = []
    monkeypatch.setattr(page, "wrapped", lambda text, *rest: said.append(text))
    hand.keys("f12")
    assert said[-1].startswith("What is proposed stands here once the scan is measured")
    hand.display.surveyed = Surveyed(evidence=evident((10, 5.0)))
    hand.frame(2)
    assert [one.frame for one in held(hand)] == [10]
    hand.panels.proposals.kind = "balance"
    hand.frame()
    assert said[-1] == "Nothing of balance is proposed, and of other kinds 1."


def test_a_cue_set_by_hand_at_a_change_of_shot_ends_its_proposal_at_once(surveyed):
    answer(surveyed, evidence=evident((10, 5.0), (16, 5.0)))
    surveyed.desk.go_to(10, surveyed.now)
    surveyed.desk.store()
    surveyed.frame()
    assert [one.frame for one in held(surveyed)] == [4, 12, 16]


def test_while_kinds_come_anew_the_others_stay_in_the_list(surveyed):
    surveyed.panels.proposals.margin = 2.0
    rest(surveyed)
    answer(surveyed, (), looked_for=("marks", "cues"))
    assert held(surveyed) == (SOFT, START)
    assert page._state(surveyed.desk, surveyed.panels.proposals, surveyed.seen) == (
        "margin 2.00; 2 so far, now balance"
    )
    answer(surveyed, (), looked_for=KINDS)
    assert held(surveyed) == ()


def test_what_has_no_room_stays_in_the_list_with_the_reason_and_the_rest_is_taken(surveyed, monkeypatch):
    early = Proposal(kind="cues", what="dissolve", frame=2, frames=9, sure=0.9, why="It is another picture.")
    answer(surveyed, (early, *ALL))
    said = []
    monkeypatch.setattr(page, "wrapped", lambda text, *rest: said.append(text))
    desk = surveyed.desk
    surveyed.keys("enter", is_control=True, is_shift=True)
    assert held(surveyed) == (early,)
    assert desk.message == (
        "4 proposals are taken in one step, and undo takes it back; 1 cannot be and stays in the list with "
        "the reason."
    )
    surveyed.frame()
    assert chosen(surveyed.panels.proposals, desk.reel) == early
    assert said[-1].startswith("Cue at frame 2: its transition of 9 frames would begin before frame 0")
    surveyed.keys("enter")
    assert desk.message.startswith("The dissolve at 10:00:00:02 is not taken (Cue at frame 2: ")
    assert not desk.is_previewing


def test_the_counters_read_zero_at_the_head_mark_once_it_is_taken(surveyed):
    head = Proposal(kind="marks", what="head mark", frame=6, sure=0.9, why="A hole was punched here.")
    answer(surveyed, (head,))
    surveyed.keys("home")
    assert surveyed.desk.readings().footage != "0+00"
    surveyed.keys("enter")
    assert (surveyed.desk.reel.head_mark, surveyed.desk.readings(6).footage) == (6, "0+00")
    surveyed.keys("z", is_control=True)
    assert surveyed.desk.reel.head_mark == 0


def test_a_click_in_the_list_leaves_it_the_keyboard_and_a_row_gives_it(surveyed, items):
    surveyed.click(*middle(items, surveyed, "##margin"))
    assert surveyed.panels.proposals.has_keyboard
    surveyed.click(300, 400)
    assert not surveyed.panels.proposals.has_keyboard
    surveyed.click(*middle(items, surveyed, "##start 12"))
    assert surveyed.panels.proposals.has_keyboard


def test_no_row_of_the_list_is_cut_at_its_lower_edge(surveyed):
    for height in (100.0, 107.5, 119.0):
        rows = page._whole_rows(height, 1.0) / page._row_height(1.0)
        assert rows == int(rows)
        assert 0 <= height - page._whole_rows(height, 1.0) < page._row_height(1.0)


def test_an_empty_kind_says_how_much_there_is_of_others(surveyed, monkeypatch):
    said = []
    monkeypatch.setattr(page, "wrapped", lambda text, *rest: said.append(text))
    surveyed.panels.proposals.kind = "flicker"
    surveyed.frame()
    assert said[-1] == "Nothing of flicker is proposed, and of other kinds 4."
    surveyed.panels.proposals.sureness = "unsure"
    surveyed.frame()
    assert said[-1] == "Nothing unsure of flicker is proposed, and of other kinds 2."


def test_where_proposals_stand_close_their_lines_do_not_hide_the_pictures(monkeypatch):
    lines, shapes = [], []
    monkeypatch.setattr(strip_proposals, "dashed", lambda *given, **more: lines.append(given))
    monkeypatch.setattr(strip_proposals, "draw_proposal", lambda *given, **more: shapes.append(given))
    monkeypatch.setattr(strip_proposals, "line", lambda *given: None)
    ruler = Ruler(Strip(span=(0.0, 1000.0)), 1000, (0.0, 0.0), (1000.0, 96.0))
    near = [msgspec.structs.replace(CUT, frame=500 + 10 * n) for n in range(20)]
    apart = [msgspec.structs.replace(CUT, frame=40 * n) for n in range(10)]
    strip_proposals.draw_proposals(ruler, strip_proposals.placed(ruler, [*apart, *near], 1.0), None, 1.0)
    assert (len(shapes), len(lines)) == (30, 11)  # those apart, and the first of those near
